package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"needlesight/server/trust/service"
)

// serviceCommand has the system keep the home running.
func serviceCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "service",
		Short: "Have this computer start needlesight by itself",
		Long: `Has this computer start 'needlesight serve' when you sign in and keep it running: by a
systemd user unit on Linux, a launch agent on macOS, a service on Windows.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	install := &cobra.Command{
		Use:   "install",
		Short: "Start it now, and whenever you sign in",
		Long:  "Installs the service. The flags are those of serve, and it is started with them.",
		Args:  cobra.NoArgs,
	}
	install.Flags().AddFlagSet(serveCommand(Program{}).Flags())
	install.RunE = func(cmd *cobra.Command, _ []string) error {
		program, err := os.Executable()
		if err != nil {
			return err
		}
		arguments, err := given(cmd.Flags())
		if err != nil {
			return err
		}
		return manage(cmd, func(m *service.Manager) (string, error) { return m.Install(program, arguments) })
	}
	cmd.AddCommand(install,
		&cobra.Command{Use: "remove", Short: "Stop it, and start it no more; what is kept stays", Args: cobra.NoArgs,
			RunE: func(cmd *cobra.Command, _ []string) error { return manage(cmd, (*service.Manager).Remove) }},
		&cobra.Command{Use: "status", Short: "Tell whether it is installed and runs", Args: cobra.NoArgs,
			RunE: func(cmd *cobra.Command, _ []string) error { return manage(cmd, (*service.Manager).Status) }})
	return cmd
}

// given are the arguments of serve that were given; a path holds from any folder.
func given(f *pflag.FlagSet) (arguments []string, err error) {
	arguments = []string{"serve"}
	paths := map[string]bool{"data": true, "from": true, "cert": true, "key": true, "backups": true}
	f.Visit(func(flag *pflag.Flag) {
		value := flag.Value.String()
		if paths[flag.Name] && err == nil {
			value, err = filepath.Abs(value)
		}
		arguments = append(arguments, "--"+flag.Name+"="+value)
	})
	return arguments, err
}

func manage(cmd *cobra.Command, do func(*service.Manager) (string, error)) error {
	m, err := service.New()
	if err != nil {
		return err
	}
	told, err := do(m)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(cmd.OutOrStdout(), told)
	return err
}
