package journal

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"syscall"
	"time"
)

// quickCheck looks for damage to the structure of the file. The samples have
// check sums of their own.
func quickCheck(db *sql.DB, path string) error {
	var verdict string
	if err := db.QueryRow("PRAGMA quick_check(1)").Scan(&verdict); err != nil {
		return wrap(path, err)
	}
	if verdict != "ok" {
		return fmt.Errorf("%s: %w: %s", path, ErrDamaged, strings.ReplaceAll(verdict, "\n", " "))
	}
	return nil
}

// setAside gives a damaged journal and its log a new name, which it returns. They
// are never deleted: another day, or another tool, may read them.
func setAside(path string, now time.Time) (string, error) {
	name := path + ".damaged-" + now.UTC().Format("20060102T150405Z")
	for n := 2; exists(name); n++ {
		name = fmt.Sprintf("%s.damaged-%s-%d", path, now.UTC().Format("20060102T150405Z"), n)
	}
	for _, suffix := range []string{"", "-wal", "-shm"} {
		err := os.Rename(path+suffix, name+suffix)
		if err != nil && !(suffix != "" && errors.Is(err, fs.ErrNotExist)) {
			return "", fmt.Errorf("setting the damaged journal aside: %w", err)
		}
	}
	return name, syncDirectory(path)
}

// checkRoom refuses a run where the disk is nearly full.
func (j *Journal) checkRoom() error {
	free, err := room(j.path)
	if err != nil {
		return err
	}
	if free < j.options.LeastRoom {
		return fmt.Errorf("%w: %d MiB are free beside %s, a run needs %d MiB: make room",
			ErrNoRoom, free>>20, j.path, j.options.LeastRoom>>20)
	}
	return nil
}

// room is how many bytes are free for the journal.
func room(path string) (uint64, error) {
	var disk syscall.Statfs_t
	if err := syscall.Statfs(path, &disk); err != nil {
		return 0, fmt.Errorf("asking how much room the disk of the journal has: %w", err)
	}
	return uint64(disk.Bavail) * uint64(disk.Bsize), nil
}
