package journal

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"time"
)

// A writer holds the lock file beside the journal until it closes or dies. A
// reader that wants to know whether somebody writes takes it for a moment, so a
// writer tries for longer than such a moment.
const (
	lockTries = 20
	lockPause = 10 * time.Millisecond
)

// errHeld is the error of a lock that somebody else holds.
var errHeld = errors.New("somebody else holds the lock")

func lockPath(path string) string { return path + ".lock" }

func takeLock(path string) (*os.File, error) {
	file, err := os.OpenFile(lockPath(path), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("locking the journal: %w", err)
	}
	for try := 1; ; try++ {
		err := holdAlone(file)
		if err == nil {
			return file, signLock(file)
		}
		if try == lockTries || !errors.Is(err, errHeld) {
			return nil, errors.Join(refuseLock(path, err), file.Close())
		}
		time.Sleep(lockPause)
	}
}

// signLock writes whose lock it is, for the message of the next one.
func signLock(file *os.File) error {
	if err := file.Truncate(0); err != nil {
		return fmt.Errorf("signing the lock of the journal: %w", errors.Join(err, file.Close()))
	}
	if _, err := fmt.Fprintf(file, "process %d", os.Getpid()); err != nil {
		return fmt.Errorf("signing the lock of the journal: %w", errors.Join(err, file.Close()))
	}
	return nil
}

func refuseLock(path string, err error) error {
	if !errors.Is(err, errHeld) {
		return fmt.Errorf("locking the journal %s: %w", path, err)
	}
	holder := "another process"
	if text, err := os.ReadFile(lockPath(path)); err == nil && len(text) > 0 {
		holder = strings.TrimSpace(string(text))
	}
	return fmt.Errorf("%s: %w by %s: wait until it is done, or name another file with --journal", path, ErrInUse, holder)
}

// lockHeld reports whether a writer is alive.
func lockHeld(path string) (bool, error) {
	file, err := os.OpenFile(lockPath(path), os.O_RDONLY, 0)
	if errors.Is(err, os.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("looking for a writer of the journal: %w", err)
	}
	err = holdShared(file)
	closing := file.Close()
	if errors.Is(err, errHeld) {
		return true, closing
	}
	return false, errors.Join(err, closing)
}
