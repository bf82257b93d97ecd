package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// writeWhole writes a file that is there whole and on the disk, or not at all. One
// that is there already is only overwritten by force.
func writeWhole(path string, force bool, write func(io.Writer) error) error {
	if _, err := os.Lstat(path); err == nil && !force {
		return fmt.Errorf("%s is there already; choose another name, or overwrite it with --force", path)
	} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	part, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".part-*") // made 0600
	if err != nil {
		return err
	}
	err = write(part)
	if err == nil {
		err = part.Sync()
	}
	err = errors.Join(err, part.Close())
	if err == nil {
		err = os.Rename(part.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(part.Name()))
	}
	return syncFolder(filepath.Dir(path))
}

// syncFolder has the name of a new file on the disk too, where a folder can be synced.
func syncFolder(path string) error {
	folder, err := os.Open(path)
	if err != nil {
		return err
	}
	_ = folder.Sync() // Windows cannot, and needs it not
	return folder.Close()
}
