package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"needlesight/data/store"
)

// backupCommand writes a backup.
func backupCommand() *cobra.Command {
	var data string
	var force bool
	cmd := &cobra.Command{
		Use:   "backup FILE",
		Short: "Write a backup of everything that is at home",
		Long: `Writes one zip file with every change, the devices and the pictures, as they are at
one moment. The home may be served meanwhile. Keep a copy on another disk: a backup
beside what it is of goes with it.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			err := withHome(data, func(h home) error {
				return writeWhole(args[0], force, func(w io.Writer) error { return h.Backup(cmd.Context(), w) })
			})
			if err != nil {
				return err
			}
			m, err := inspect(args[0])
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s holds %s, %s and %s.\n", args[0], count(int(m.Changes), "change"), count(m.Devices, "device"), count(m.Pictures, "picture"))
			for _, hash := range m.Damaged {
				fmt.Fprintf(cmd.ErrOrStderr(), "The picture %s is damaged at home; it is in the backup as it is.\n", hash)
			}
			return nil
		},
	}
	dataFlag(cmd.Flags(), &data)
	cmd.Flags().BoolVar(&force, "force", false, "overwrite the file if it is there")
	return cmd
}

// inspect reads what a backup says of itself.
func inspect(path string) (m store.Manifest, err error) {
	file, size, err := openSized(path)
	if err != nil {
		return m, err
	}
	defer file.Close()
	return store.Inspect(file, size)
}

// openSized opens a file and tells how many bytes it has.
func openSized(path string) (*os.File, int64, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	info, err := file.Stat()
	if err != nil {
		return nil, 0, errors.Join(err, file.Close())
	}
	return file, info.Size(), nil
}

// count says how many there are of something.
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// restoreCommand makes a home of a backup.
func restoreCommand() *cobra.Command {
	var data string
	var overwrite bool
	cmd := &cobra.Command{
		Use:   "restore FILE",
		Short: "Make the home again of a backup",
		Long: `Makes the home of a backup, in the data folder. It must not be served meanwhile. Every
device then brings everything it has once more, so that what was entered after the
backup comes back too, as long as a device still has it. Devices stay paired.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error { return restore(cmd, data, args[0], overwrite) },
	}
	dataFlag(cmd.Flags(), &data)
	cmd.Flags().BoolVar(&overwrite, "overwrite", false, "put the backup in place of what is there; that is kept beside it")
	return cmd
}

func restore(cmd *cobra.Command, data, path string, overwrite bool) error {
	file, size, err := openSized(path)
	if err != nil {
		return err
	}
	defer file.Close()
	if err := os.MkdirAll(data, 0o700); err != nil {
		return err
	}
	done, err := store.Restore(storeIn(data), file, size, overwrite, store.Options{Log: quietly()})
	switch {
	case errors.Is(err, store.ErrInUse):
		return fmt.Errorf("a needlesight serves %s now; stop it first", data)
	case errors.Is(err, store.ErrNotEmpty):
		return fmt.Errorf("there is a home in %s already; with --overwrite the backup takes its place, and what is there is kept beside it", data)
	case err != nil:
		return err
	}
	out := cmd.OutOrStdout()
	m := done.Manifest
	fmt.Fprintf(out, "The home is as it was on %s: %s, %s, %s.\n", m.Made.Local().Format("2006-01-02 15:04"), count(int(m.Changes), "change"), count(m.Devices, "device"), count(m.Pictures-len(done.Lost), "picture"))
	for _, hash := range done.Lost {
		fmt.Fprintf(cmd.ErrOrStderr(), "The picture %s is damaged in the backup and was left out.\n", hash)
	}
	if done.Replaced != "" {
		fmt.Fprintf(out, "What was there before is now in %s\n", done.Replaced)
	}
	_, err = fmt.Fprintln(out, "Each device brings what it has as soon as it finds home.")
	return err
}

// verifyCommand looks through everything.
func verifyCommand() *cobra.Command {
	var data string
	cmd := &cobra.Command{
		Use:   "verify",
		Short: "Look through everything that is at home for damage",
		Long: `Reads every record, compares every picture with its name, and looks whether what
records refer to is there. It changes nothing, and may take long. The exit status is
1 when something is damaged.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withHome(data, func(h home) error {
				report, err := h.Verify(cmd.Context())
				if err != nil {
					return err
				}
				return showReport(cmd.OutOrStdout(), report)
			})
		},
	}
	dataFlag(cmd.Flags(), &data)
	return cmd
}

// errDamaged is the outcome of a look that found damage.
var errDamaged = errors.New("something is damaged; a backup from before, or a device that still has it, brings it back")

func showReport(out io.Writer, r store.Report) error {
	for _, fault := range r.Faults {
		fmt.Fprintln(out, "damaged:", fault)
	}
	for _, missing := range r.Missing {
		fmt.Fprintln(out, "not here yet:", missing)
	}
	if r.More > 0 {
		fmt.Fprintf(out, "and %d more\n", r.More)
	}
	fmt.Fprintf(out, "%s in %s, %s, %s looked at.\n", count(int(r.Changes), "change"), count(int(r.Records), "record"), count(r.Devices, "device"), count(r.Pictures, "picture"))
	if len(r.Faults) > 0 {
		return errDamaged
	}
	_, err := fmt.Fprintln(out, "All is well.")
	return err
}

// exportCommand writes a file of projects.
func exportCommand() *cobra.Command {
	var data, project string
	var force bool
	cmd := &cobra.Command{
		Use:   "export FILE",
		Short: "Write one animal, or everything, to a file that the app and 'import' can take in",
		Long:  "Writes one zip file: every change ever made of the animal, as JSON, and its pictures.",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withHome(data, func(h home) error {
				return writeWhole(args[0], force, func(w io.Writer) error { return h.Export(cmd.Context(), project, w) })
			})
		},
	}
	dataFlag(cmd.Flags(), &data)
	cmd.Flags().StringVar(&project, "project", "", "the `NAME` or id of one animal; everything if none is given")
	cmd.Flags().BoolVar(&force, "force", false, "overwrite the file if it is there")
	return cmd
}

// importCommand takes a file of projects in.
func importCommand() *cobra.Command {
	var data string
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Take in a file that the app or 'export' wrote",
		Long:  "Takes a file in. Nothing is overwritten: what was said differently here and there stays as two answers. Twice is harmless.",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			path, err := filepath.Abs(args[0])
			if err != nil {
				return err
			}
			return withHome(data, func(h home) error {
				r, err := h.Import(cmd.Context(), path)
				if err != nil {
					return err
				}
				fmt.Fprintf(cmd.OutOrStdout(), "%s in the file, %d of them new here; %s new here.\n", count(r.Changes, "change"), r.Fresh, count(r.Pictures, "picture"))
				if r.Refused > 0 {
					fmt.Fprintf(cmd.ErrOrStderr(), "%s not taken. The first: %s\n", count(r.Refused, "change"), r.Why)
				}
				return nil
			})
		},
	}
	dataFlag(cmd.Flags(), &data)
	return cmd
}
