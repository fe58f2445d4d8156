package journal

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// ErrExists is the error of a backup to a file that is there already.
var ErrExists = errors.New("the file exists already")

// Backup copies the journal as it is at this moment, whole and durable, to a file
// that must not exist yet and that the owner alone can read. Nothing of a backup
// that fails is left.
func (r *Reader) Backup(ctx context.Context, to string) error {
	file, err := os.OpenFile(to, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("backing the journal up to %s: %w: name one that does not exist", to, ErrExists)
	}
	if err != nil {
		return fmt.Errorf("backing the journal up: %w", err)
	}
	_, err = r.db.ExecContext(ctx, "VACUUM INTO ?", to)
	if err := errors.Join(err, file.Sync(), file.Close()); err != nil {
		return fmt.Errorf("backing the journal up to %s: %w", to, errors.Join(err, os.Remove(to)))
	}
	return syncDirectory(to)
}
