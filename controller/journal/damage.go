package journal

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"

	"modernc.org/sqlite"
)

// wholeCheckBytes is up to which size a file is checked whole at each start: half
// a second on a slow board, and some hundred loads.
const wholeCheckBytes = 8 << 20

// checkSound looks for damage to the structure of the file. A larger one is checked
// whole after a writer died, which is when damage is done; else only its newest
// run is read, because a start must not grow slow with the years, and Verify is
// there for the rest. The samples have check sums of their own.
func checkSound(leftOpen bool) func(*sql.DB, string) error {
	return func(db *sql.DB, path string) error {
		info, err := os.Stat(path)
		if err != nil {
			return fmt.Errorf("looking at the journal %s: %w", path, err)
		}
		if leftOpen || info.Size() <= wholeCheckBytes {
			return quickCheck(db, path)
		}
		return checkNewest(db, path)
	}
}

// leftOpen reports whether the last writer died: it would have removed its log.
func leftOpen(path string) bool {
	info, err := os.Stat(path + "-wal")
	return err == nil && info.Size() > 0
}

// emptied reports whether a file that was a journal has no byte left: that is no new one.
func emptied(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Size() == 0 && !exists(path+"-wal") && exists(checkedPath(path))
}

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

func checkNewest(db *sql.DB, path string) error {
	tx, err := db.Begin()
	if err != nil {
		return wrap(path, err)
	}
	_, err = (&Reader{path: path}).read(tx, "last", 0)
	undo := tx.Rollback()
	var failure *sqlite.Error
	if err != nil && errors.As(err, &failure) {
		return wrap(path, errors.Join(err, undo))
	}
	return undo // a run that was changed is no damage to the file: who reads it is told
}

// setAside gives a damaged journal and its log a new name, which it returns.
func setAside(path, why string, now time.Time) (string, error) {
	name := asideName(path, "damaged", now)
	if err := noteAside(path, aside{Journal: name, Why: why, At: now}); err != nil {
		return "", err
	}
	return name, rename(path, name)
}

// putAside gives a journal and its log a name that says why and when. They are never
// deleted: another day, or another tool, may read them.
func putAside(path, why string, now time.Time) (string, error) {
	name := asideName(path, why, now)
	return name, rename(path, name)
}

// asideName is a name that nothing has.
func asideName(path, why string, now time.Time) string {
	name := path + "." + why + "-" + now.UTC().Format("20060102T150405Z")
	for n, first := 2, name; exists(name); n++ {
		name = fmt.Sprintf("%s-%d", first, n)
	}
	return name
}

// rename gives a journal and its log another name.
func rename(path, name string) error {
	for _, suffix := range []string{"", "-wal", "-shm"} {
		err := os.Rename(path+suffix, name+suffix)
		if err != nil && !(suffix != "" && errors.Is(err, fs.ErrNotExist)) {
			return fmt.Errorf("setting the journal aside as %s: %w", name, err)
		}
	}
	return syncDirectory(path)
}

// mayBegin refuses a run where its record would have no room, or a person does not know
// yet that an earlier record is damaged.
func (j *Journal) mayBegin() error {
	if found := j.unsound.Load(); found != nil {
		return *found
	}
	waiting, err := Unacknowledged(j.path)
	if err != nil {
		return err
	}
	if waiting != "" {
		return fmt.Errorf("%w: %s: when you know what is missing: anodized journal acknowledge --name YOUR-NAME", ErrUnacknowledged, waiting)
	}
	return j.checkRoom()
}

// checkRoom refuses a run where the disk is nearly full.
func (j *Journal) checkRoom() error {
	free, err := room(j.path)
	if err != nil {
		return err
	}
	if needed := j.needed(); free < needed {
		return fmt.Errorf("%w: %d MiB are free beside %s, a run needs %d MiB: make room",
			ErrNoRoom, free>>20, j.path, needed>>20)
	}
	return nil
}

// needed is the least room, or that of twenty loads of this journal where they are long
// ones: 64 MiB are two thousand of four minutes.
func (j *Journal) needed() uint64 {
	info, err := os.Stat(j.path)
	var runs int64
	if err != nil || j.Reader == nil || j.Reader.db == nil || j.Reader.db.QueryRow("SELECT coalesce(max(id), 0) FROM run").Scan(&runs) != nil || runs == 0 {
		return j.options.LeastRoom
	}
	return max(j.options.LeastRoom, 20*uint64(info.Size()/runs))
}
