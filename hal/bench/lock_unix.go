//go:build unix

package bench

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// lock is a lock file that is held. The system lets go of it when the process ends,
// however it ends; the file itself stays.
type lock struct{ file *os.File }

// takeLock takes the bench with this supply for this process.
func takeLock(address string) (*lock, error) {
	path := filepath.Join(lockFolder(), "anodized-"+fileName(address)+".lock")
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("take the bench: %w", err)
	}
	err = syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return nil, errors.Join(fmt.Errorf("%w: process %s has the supply at %s; stop it first", ErrInUse, holder(path), address), file.Close())
	}
	if err == nil {
		err = writeHolder(file)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("take the bench with %s: %w", path, err), file.Close())
	}
	return &lock{file}, nil
}

func lockFolder() string {
	if folder := os.Getenv("XDG_RUNTIME_DIR"); folder != "" {
		return folder
	}
	return os.TempDir()
}

// fileName makes one name of an address.
func fileName(address string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune("abcdefghijklmnopqrstuvwxyz0123456789.-", r) {
			return r
		}
		return '_'
	}, strings.ToLower(address))
}

func writeHolder(file *os.File) error {
	if err := file.Truncate(0); err != nil {
		return err
	}
	_, err := fmt.Fprintln(file, os.Getpid())
	return err
}

// holder reads who holds a lock.
func holder(path string) string {
	text, err := os.ReadFile(path)
	if err != nil || len(strings.TrimSpace(string(text))) == 0 {
		return "of unknown number"
	}
	return strings.TrimSpace(string(text))
}

// Close lets go of the bench.
func (l *lock) Close() error {
	return errors.Join(l.file.Truncate(0), l.file.Close())
}
