//go:build unix

package bench

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// lockFile is a lock file that is held. The system lets go of it when the process
// ends, however it ends; the file itself stays.
type lockFile struct{ file *os.File }

// takePlace takes one place: by its file, which keeps out this user's processes,
// then by what the system has to keep out those of all users.
func takePlace(folder, place string) ([]io.Closer, error) {
	file, err := takeFile(filepath.Join(folder, fileName(place)))
	if err != nil {
		return nil, err
	}
	name, err := takeName(place)
	if err != nil {
		return nil, errors.Join(err, file.Close())
	}
	return append([]io.Closer{file}, name...), nil
}

func takeFile(path string) (*lockFile, error) {
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("open its lock: %w", err)
	}
	err = syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return nil, errors.Join(inUse(holder(path)), file.Close())
	}
	if err == nil {
		err = writeHolder(file)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("lock %s: %w", path, err), file.Close())
	}
	return &lockFile{file}, nil
}

func inUse(who string) error { return fmt.Errorf("%w: %s has it; stop it first", ErrInUse, who) }

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
		return "a process of unknown number"
	}
	return "process " + strings.TrimSpace(string(text))
}

// Close lets go.
func (l *lockFile) Close() error {
	return errors.Join(l.file.Truncate(0), l.file.Close())
}

// own refuses a folder that somebody else could have laid there.
func own(folder string) error {
	info, err := os.Lstat(folder)
	if err != nil {
		return fmt.Errorf("look at the folder of its lock: %w", err)
	}
	status, ok := info.Sys().(*syscall.Stat_t)
	if !ok || !info.IsDir() || info.Mode().Perm()&0o077 != 0 || int(status.Uid) != os.Getuid() {
		return fmt.Errorf("%s is not a folder of this user alone: remove it, or set XDG_RUNTIME_DIR", folder)
	}
	return nil
}

// deviceNumber is the number of a device file; false where the path names none.
func deviceNumber(path string) (string, bool) {
	info, err := os.Stat(path)
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return "", false
	}
	status, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return "", false
	}
	return fmt.Sprintf("%x", status.Rdev), true
}
