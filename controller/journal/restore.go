package journal

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"
)

// ErrUnsound is the error of a backup that is not what it was closed with.
var ErrUnsound = errors.New("the backup is not sound")

// ErrNoBackup is the error of a file that is no copy of a journal at all.
var ErrNoBackup = errors.New("it is no backup of a journal: name the file that journal backup wrote")

// Restored is what a restore did.
type Restored struct {
	Runs  int    `json:"runs"`                // that the journal has now
	Aside string `json:"set_aside,omitempty"` // where the journal that was there stands; "" where there was none
}

// Restore puts a backup in the place of the journal at a path. The backup is verified
// first, every run by its hash; the copy is durable before it takes the place. A
// journal that is there is ErrExists, unless replace says that it is to be set aside,
// under a new name: it is never deleted. A journal in use is ErrInUse.
func Restore(ctx context.Context, path, backup string, replace bool) (Restored, error) {
	found, err := verifyBackup(ctx, backup)
	if err != nil {
		return Restored{}, err
	}
	if err := makeDirectory(path); err != nil {
		return Restored{}, err
	}
	lock, err := takeLock(path)
	if err != nil {
		return Restored{}, err
	}
	done, err := restore(path, backup, replace)
	done.Runs = found.Runs
	return done, errors.Join(err, lock.Close())
}

func verifyBackup(ctx context.Context, backup string) (Verification, error) {
	if database, err := isDatabase(backup); err != nil || !database {
		return Verification{}, errors.Join(err, fmt.Errorf("restoring %s: %w", backup, ErrNoBackup))
	}
	reader, err := OpenReadOnly(backup)
	if err != nil {
		return Verification{}, fmt.Errorf("restoring %s: %w", backup, err)
	}
	found, err := reader.Verify(ctx)
	if err := errors.Join(err, reader.Close()); err != nil {
		return found, fmt.Errorf("restoring %s: %w", backup, err)
	}
	if len(found.Problems) > 0 {
		return found, fmt.Errorf("restoring %s: %w: %s; the journal was left as it is", backup, ErrUnsound, found.Problems[0].Message)
	}
	return found, nil
}

// header begins every database file (SQLite, Database File Format, 1.3.1).
const header = "SQLite format 3\x00"

// isDatabase tells whether a file begins as a database does. What is not there or empty
// is left to be told as that.
func isDatabase(path string) (is bool, err error) {
	info, err := os.Stat(path)
	if err != nil || info.IsDir() || info.Size() == 0 {
		return err != nil || !info.IsDir(), nil
	}
	file, err := os.Open(path)
	if err != nil {
		return false, err
	}
	start := make([]byte, len(header))
	n, err := io.ReadFull(file, start)
	if errors.Is(err, io.ErrUnexpectedEOF) {
		err = nil
	}
	return string(start[:n]) == header, errors.Join(err, file.Close())
}

func restore(path, backup string, replace bool) (Restored, error) {
	here := exists(path)
	if here && !replace {
		return Restored{}, fmt.Errorf("restoring %s: %s: %w", backup, path, ErrExists)
	}
	if a, err := os.Stat(path); err == nil {
		if b, err := os.Stat(backup); err == nil && os.SameFile(a, b) {
			return Restored{}, fmt.Errorf("restoring %s: it is the journal itself", backup)
		}
	}
	fresh := path + ".restoring"
	if err := copyWhole(fresh, backup); err != nil {
		return Restored{}, fmt.Errorf("restoring %s: %w", backup, errors.Join(err, os.RemoveAll(fresh)))
	}
	var done Restored
	if here || exists(path+"-wal") {
		aside, err := putAside(path, "before-restore", time.Now())
		if err != nil {
			return Restored{}, errors.Join(err, os.RemoveAll(fresh))
		}
		done.Aside = aside
	}
	if err := os.Rename(fresh, path); err != nil {
		return done, fmt.Errorf("restoring %s: %w", backup, err)
	}
	return done, syncDirectory(path)
}

// copyWhole copies a backup, with what a log beside it holds, to a new durable file.
func copyWhole(to, from string) error {
	if err := os.RemoveAll(to); err != nil { // of a restore that was cut off
		return err
	}
	if exists(from + "-wal") {
		return fmt.Errorf("%s-wal stands beside it, so it is a journal in use and no backup: make one with journal backup", from)
	}
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	out, err := os.OpenFile(to, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return errors.Join(err, in.Close())
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync(), out.Close(), in.Close())
}
