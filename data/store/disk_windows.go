package store

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// freeBytes is how many bytes this user can still write to the disk of a folder.
func freeBytes(dir string) (int64, error) {
	path, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, err
	}
	var free uint64
	err = windows.GetDiskFreeSpaceEx(path, &free, nil, nil)
	return int64(free), err
}

// lockFile locks a file until it is closed. The error is ErrInUse if another
// has.
func lockFile(f *os.File) error {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	err := windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, &windows.Overlapped{})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return ErrInUse
	}
	return err
}

// private does nothing: here who may read a file is up to its folder, and a
// user's own folders are closed to others.
func private() {}

// syncFolder does nothing: Windows keeps names durable by itself, and has no
// call for it.
func syncFolder(*os.File) error { return nil }
