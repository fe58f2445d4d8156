package journal

import (
	"errors"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// What callers tell apart with errors.Is.
var (
	ErrInUse       = errors.New("the journal is in use")
	ErrNewerSchema = errors.New("the journal was written by a newer version of this program")
	ErrForeign     = errors.New("the file is the database of another program")
	ErrDamaged     = errors.New("the journal is damaged")
	ErrNoJournal   = errors.New("there is no journal yet")
	ErrNoRun       = errors.New("no such run")
	ErrNotKept     = errors.New("the journal has no such entry")
	ErrKept        = errors.New("the journal has that already, and changes nothing")
	ErrRefused     = errors.New("the journal does not keep that")
	ErrNotDurable  = errors.New("the intent of the run is not on the disk")
	ErrStalled     = errors.New("the journal's disk does not answer")
	ErrNoRoom      = errors.New("the journal's disk is nearly full")
	ErrRunOpen     = errors.New("the run before is not finished")
	ErrNoOpenRun   = errors.New("no run is open")
	ErrClosed      = errors.New("the journal is closed")
)

// damaged reports whether an error of the driver says that the file is no sound
// database; a full or unreadable disk is another matter.
func damaged(err error) bool {
	if errors.Is(err, ErrDamaged) {
		return true
	}
	var failure *sqlite.Error
	if !errors.As(err, &failure) {
		return false
	}
	switch failure.Code() & 0xff {
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return true
	case sqlite3.SQLITE_ERROR: // these have no code of their own
		return strings.Contains(failure.Error(), "unsupported file format") || // of a header whose schema format is none
			strings.Contains(failure.Error(), "no such column") || strings.Contains(failure.Error(), "no such table") // whose name was flipped: our questions are fixed
	}
	return false
}

// errUnmade is the error of a file whose first transaction was cut off before it had its
// write-ahead log: the making of a journal, of which nothing was kept.
var errUnmade = errors.New("the making of the journal was cut off")

func unmade(err error) bool {
	var failure *sqlite.Error
	return errors.As(err, &failure) && failure.Code() == sqlite3.SQLITE_READONLY_ROLLBACK
}
