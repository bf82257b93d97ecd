//go:build !windows

package store

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// freeBytes is how many bytes this user can still write to the disk of a folder.
func freeBytes(dir string) (int64, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(dir, &s); err != nil {
		return 0, err
	}
	return int64(s.Bavail) * int64(s.Bsize), nil // the types differ between systems
}

// lockFile locks a file until it is closed. The error is ErrInUse if another
// has.
func lockFile(f *os.File) error {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return ErrInUse
	}
	return err
}

// private lets nobody else read what this process makes.
func private() { unix.Umask(0o077) }

// syncFolder makes the names in a folder durable.
func syncFolder(folder *os.File) error { return folder.Sync() }
