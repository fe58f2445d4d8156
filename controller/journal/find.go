package journal

import (
	"database/sql"
	"errors"
	"fmt"
	"regexp"
	"strconv"
)

var runPattern = regexp.MustCompile(`^[1-9][0-9]{0,8}$`)

func (r *Reader) find(tx *sql.Tx, name string) (stored, error) {
	const columns = "SELECT id, intent, result, hash FROM run "
	question, argument := columns+"WHERE id = ?", int64(0)
	switch {
	case name == "last":
		question = columns + "WHERE id > ? ORDER BY id DESC LIMIT 1"
	case runPattern.MatchString(name):
		argument, _ = strconv.ParseInt(name, 10, 64) // nine digits at most: no error to come
	default:
		return stored{}, fmt.Errorf("%w as %q: a run is a number or the word last%s", ErrNoRun, name, r.what(tx))
	}
	var row stored
	err := tx.QueryRow(question, argument).Scan(&row.id, &row.intent, &row.result, &row.hash)
	if errors.Is(err, sql.ErrNoRows) {
		return stored{}, fmt.Errorf("%w as %s%s", ErrNoRun, name, r.what(tx))
	}
	if err != nil {
		return stored{}, wrap(r.path, err)
	}
	return row, nil
}

// what says which runs there are, for a message.
func (r *Reader) what(tx *sql.Tx) string {
	var count, first, last int64
	const question = "SELECT count(*), coalesce(min(id), 0), coalesce(max(id), 0) FROM run"
	if err := tx.QueryRow(question).Scan(&count, &first, &last); err != nil {
		return fmt.Sprintf(" (and the journal %s does not say which there are: %v)", r.path, err)
	}
	switch count {
	case 0:
		return fmt.Sprintf(": the journal %s has none yet", r.path)
	case 1:
		return fmt.Sprintf(": the journal %s has run %d alone", r.path, first)
	}
	return fmt.Sprintf(": the journal %s has runs %d to %d", r.path, first, last)
}
