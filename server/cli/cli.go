// Package cli is the commands that have to do with the home: serving it, letting
// devices in, backups, files.
package cli

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"needlesight/data/store"
	"needlesight/server"
)

// Program is what the commands tell of the program they are in.
type Program struct {
	Version string
}

// Commands are the commands of the home. The first is the one to run when none is named.
func Commands(p Program) []*cobra.Command {
	return []*cobra.Command{
		serveCommand(p), pairCommand(), devicesCommand(),
		backupCommand(), restoreCommand(), verifyCommand(), exportCommand(), importCommand(), serviceCommand(),
	}
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

// home is what a command can ask of a home, whether it is served now or not.
type home interface {
	Devices(ctx context.Context) ([]store.Device, error)
	Rename(ctx context.Context, id, name string) error
	StrikeOff(ctx context.Context, id string) error
	Verify(ctx context.Context) (store.Report, error)
	Backup(ctx context.Context, w writer) error
	Export(ctx context.Context, project string, w writer) error
	Import(ctx context.Context, path string) (store.ImportResult, error)
}

// withHome asks the home that is served from a data folder, or opens it if none is.
func withHome(data string, ask func(home) error) error {
	control, err := server.Dial(data)
	if err == nil {
		return ask(control)
	}
	if !errors.Is(err, server.ErrNotRunning) {
		return err
	}
	if _, err := os.Stat(storeIn(data)); err != nil {
		return errors.New("there is no home in " + data + " yet; 'needlesight serve' makes one, and --data names another folder")
	}
	s, err := openStore(data, quietly())
	if err != nil {
		return err
	}
	return errors.Join(ask(alone{s}), s.Close())
}

// quietly logs only what is wrong.
func quietly() *slog.Logger {
	return slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelError}))
}
