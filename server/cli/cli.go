// Package cli is the commands that have to do with the home: serving it, letting
// devices in, backups, files.
package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"needlesight/server"
)

// Program is what the commands tell of the program they are in.
type Program struct {
	Version string
}

// Commands are the commands of the home. The first is the one to run when none is named.
func Commands(p Program) []*cobra.Command {
	return []*cobra.Command{serveCommand(p), pairCommand()}
}

// dataFlag is the flag of every command that has to do with the data folder.
func dataFlag(f *pflag.FlagSet, data *string) {
	f.StringVar(data, "data", defaultData(), "the `FOLDER` in which the home keeps everything")
}

// defaultData is the data folder when none is named: that of the environment
// variable NEEDLESIGHT_DATA, or one among this user's application data.
func defaultData() string {
	if folder := os.Getenv("NEEDLESIGHT_DATA"); folder != "" {
		return folder
	}
	return filepath.Join(xdg.DataHome, "needlesight")
}

// pairCommand shows a code that lets a device in.
func pairCommand() *cobra.Command {
	var data string
	cmd := &cobra.Command{
		Use:   "pair",
		Short: "Show a code that lets one device in",
		Long:  `Asks the needlesight that is being served for a code of nine digits. It lets one device in, within five minutes.`,
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			control, err := server.Dial(data)
			if errors.Is(err, server.ErrNotRunning) {
				return fmt.Errorf("no needlesight serves %s now; start one with 'needlesight serve', then ask again", data)
			}
			if err != nil {
				return err
			}
			c, err := control.NewCode(cmd.Context())
			if err != nil {
				return err
			}
			out := cmd.OutOrStdout()
			fmt.Fprintf(out, "Code: %s %s %s\n\nIt lets one device in, until %s.\n", c.Code[:3], c.Code[3:6], c.Code[6:], c.Expires.Local().Format(time.TimeOnly))
			fmt.Fprintf(out, "This computer:  %s\n", c.Here)
			if c.App != "" {
				fmt.Fprintf(out, "A phone:        %s\n", c.App)
			}
			if c.Welcome != "" {
				fmt.Fprintf(out, "A phone that does not trust this home yet, first:  %s\n", c.Welcome)
			}
			return nil
		},
	}
	dataFlag(cmd.Flags(), &data)
	return cmd
}
