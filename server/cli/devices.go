package cli

import (
	"errors"
	"fmt"
	"io"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"
	"os"

	"needlesight/data/store"
	"needlesight/server"
	"needlesight/server/trust"
)

// pairCommand shows a code that lets a device in.
func pairCommand() *cobra.Command {
	var data string
	cmd := &cobra.Command{
		Use:   "pair",
		Short: "Show a code that lets one device in",
		Long: `Asks the needlesight that is being served for a code of nine digits. It lets one
device in, within five minutes; five wrong tries end it.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			control, err := server.Dial(data)
			if errors.Is(err, server.ErrNotRunning) {
				return fmt.Errorf("no needlesight serves %s now; start one with 'needlesight serve', then ask again", data)
			}
			if err != nil {
				return err
			}
			code, err := control.NewCode(cmd.Context())
			if err != nil {
				return err
			}
			return showCode(cmd.OutOrStdout(), code)
		},
	}
	dataFlag(cmd.Flags(), &data)
	return cmd
}

// showCode shows a code, with a picture of it where there is a terminal.
func showCode(out io.Writer, c server.Code) error {
	lines := []string{
		fmt.Sprintf("Code: %s %s %s", c.Code[:3], c.Code[3:6], c.Code[6:]),
		fmt.Sprintf("It lets one device in, until %s.", c.Expires.Local().Format(time.TimeOnly)), "",
		"On this computer, open:", "  " + c.Here,
	}
	address := ""
	if c.App != "" {
		address = c.App
		lines = append(lines, "On a phone that trusts this home:", "  "+c.App)
	}
	if c.Welcome != "" {
		lines = append(lines, "On one that does not yet, first:", "  "+c.Welcome)
	}
	file, _ := out.(*os.File)
	if file == nil || !term.IsTerminal(int(file.Fd())) {
		address = ""
	}
	return trust.ShowCode(out, address, lines)
}

// devicesCommand lists the devices.
func devicesCommand() *cobra.Command {
	var data string
	cmd := &cobra.Command{
		Use:   "devices",
		Short: "List the devices that may bring things home",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withHome(data, func(h home) error {
				list, err := h.Devices(cmd.Context())
				if err != nil {
					return err
				}
				return showDevices(cmd.OutOrStdout(), list)
			})
		},
	}
	dataFlag(cmd.PersistentFlags(), &data)
	cmd.AddCommand(&cobra.Command{
		Use: "rename ID NAME", Short: "Give a device another name", Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withHome(data, func(h home) error { return h.Rename(cmd.Context(), args[0], args[1]) })
		},
	}, &cobra.Command{
		Use: "strike ID", Short: "Let a device in no more; it keeps what it has, and is told", Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withHome(data, func(h home) error { return h.StrikeOff(cmd.Context(), args[0]) })
		},
	})
	return cmd
}

func showDevices(out io.Writer, list []store.Device) error {
	if len(list) == 0 {
		_, err := fmt.Fprintln(out, "No device is paired yet. 'needlesight pair' shows a code that lets one in.")
		return err
	}
	table := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "ID\tNAME\tPAIRED\tLAST HERE\t")
	for _, d := range list {
		note := ""
		if d.Struck {
			note = "struck off"
		}
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\t%s\n", d.ID, d.Name, d.Added.Local().Format(time.DateOnly), d.Seen.Local().Format("2006-01-02 15:04"), note)
	}
	return table.Flush() // it keeps the first error
}
