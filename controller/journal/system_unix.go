//go:build unix

package journal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"golang.org/x/sys/unix"
)

// holdAlone takes the lock of a file, which the system lets go of with its process.
func holdAlone(file *os.File) error { return hold(file, unix.LOCK_EX) }

// holdShared takes it together with others that do.
func holdShared(file *os.File) error { return hold(file, unix.LOCK_SH) }

func hold(file *os.File, how int) error {
	err := unix.Flock(int(file.Fd()), how|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return errHeld
	}
	return err
}

// room is how many bytes are free for the journal.
func room(path string) (uint64, error) {
	var disk unix.Statfs_t
	if err := unix.Statfs(path, &disk); err != nil {
		return 0, fmt.Errorf("asking how much room the disk of the journal has: %w", err)
	}
	return uint64(disk.Bavail) * uint64(disk.Bsize), nil
}

// unwritable tells whether a file is on a disk that takes no writes from anybody.
func unwritable(path string) bool { return errors.Is(unix.Access(path, unix.W_OK), unix.EROFS) }

// syncDirectory makes the names in the directory of a file durable.
func syncDirectory(path string) error {
	directory, err := os.Open(filepath.Dir(path))
	if err != nil {
		return fmt.Errorf("making the name of the journal durable: %w", err)
	}
	if err := errors.Join(directory.Sync(), directory.Close()); err != nil {
		return fmt.Errorf("making the name of the journal durable: %w", err)
	}
	return nil
}
