package journal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"golang.org/x/sys/windows"
)

// lockedAt is the byte that stands for the whole lock file: beyond its text, since a
// locked byte cannot be read by others here.
const lockedAt = 1 << 20

// holdAlone takes the lock of a file, which the system lets go of with its process.
func holdAlone(file *os.File) error {
	return hold(file, windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY)
}

// holdShared takes it together with others that do.
func holdShared(file *os.File) error { return hold(file, windows.LOCKFILE_FAIL_IMMEDIATELY) }

func hold(file *os.File, how uint32) error {
	err := windows.LockFileEx(windows.Handle(file.Fd()), how, 0, 1, 0, &windows.Overlapped{Offset: lockedAt})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return errHeld
	}
	return err
}

// room is how many bytes are free for the journal.
func room(path string) (uint64, error) {
	folder, err := windows.UTF16PtrFromString(filepath.Dir(path))
	if err != nil {
		return 0, fmt.Errorf("asking how much room the disk of the journal has: %w", err)
	}
	var free uint64
	if err := windows.GetDiskFreeSpaceEx(folder, &free, nil, nil); err != nil {
		return 0, fmt.Errorf("asking how much room the disk of the journal has: %w", err)
	}
	return free, nil
}

// unwritable tells whether a file is on a disk that takes no writes from anybody; this
// system does not say so before a write.
func unwritable(string) bool { return false }

// syncDirectory has nothing to do: this system writes the names of files with their
// data, and opens no directory to be written.
func syncDirectory(string) error { return nil }
