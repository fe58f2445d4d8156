package journal

import (
	"bytes"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
)

// shelf is a table of entries beside the runs. An entry is written once, with the hash of
// its content, and is never changed or taken out: what is wrong gets another entry. Its
// numbers are 1, 2, 3..., so that one that is missing shows.
type shelf struct {
	table string
	one   string // what an entry is called
	once  bool   // what an entry is about may have one only
	since int    // the version of the file that has it first
}

// The shelves, and what an entry of each is about.
var (
	calibrationShelf = shelf{"calibration", "calibration", true, 2} // its id
	readingShelf     = shelf{"reading", "reading", false, 2}        // the number of the run
	areaShelf        = shelf{"area", "adopted area", false, 2}      // the name of the rack
	stripShelf       = shelf{"strip", "strip", false, 3}            // the number of the run
	shelves          = []shelf{calibrationShelf, readingShelf, areaShelf, stripShelf}
)

// tablesOfShelves are those that a file of a version has not.
func tablesOfShelves(version int) string {
	var all string
	for _, s := range shelves {
		if s.since <= version {
			continue
		}
		unique := ""
		if s.once {
			unique = "UNIQUE "
		}
		all += fmt.Sprintf(`
CREATE TABLE %[1]s (id INTEGER PRIMARY KEY, about TEXT NOT NULL, body BLOB NOT NULL, hash BLOB NOT NULL) STRICT;
CREATE %[2]sINDEX %[1]s_about ON %[1]s (about);
CREATE TRIGGER %[1]s_changed BEFORE UPDATE ON %[1]s BEGIN SELECT raise(ABORT, 'what the journal keeps is never changed'); END;
CREATE TRIGGER %[1]s_removed BEFORE DELETE ON %[1]s BEGIN SELECT raise(ABORT, 'what the journal keeps is never taken out'); END;
`, s.table, unique)
	}
	return all
}

// kept is an entry as it is in the file.
type kept struct {
	id    int64
	about string
	body  []byte
	hash  []byte
}

// sum is the SHA-256 of an entry: its shelf, its number, what it is about, its content.
func (k kept) sum(s shelf) []byte {
	whole := sha256.New()
	writePart(whole, []byte(s.table))
	whole.Write(binary.LittleEndian.AppendUint64(nil, uint64(k.id)))
	writePart(whole, []byte(k.about))
	writePart(whole, k.body)
	return whole.Sum(nil)
}

// put writes an entry at the end of its shelf.
func (s shelf) put(tx *sql.Tx, about string, content any) error {
	one := kept{about: about}
	var err error
	if one.body, err = json.Marshal(content); err != nil {
		return fmt.Errorf("writing the %s %s as JSON: %w", s.one, about, err)
	}
	if err := tx.QueryRow("SELECT coalesce(max(id), 0) + 1 FROM " + s.table).Scan(&one.id); err != nil {
		return err
	}
	_, err = tx.Exec("INSERT INTO "+s.table+" (id, about, body, hash) VALUES (?, ?, ?, ?)", one.id, one.about, one.body, one.sum(s))
	return err
}

// asked answers one question: a database or a transaction.
type asked interface {
	QueryRow(question string, args ...any) *sql.Row
}

// isThere tells whether the file has the shelf: one of an older version has not all.
func (s shelf) isThere(of asked) (bool, error) {
	var n int
	err := of.QueryRow("SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = ?", s.table).Scan(&n)
	return n > 0, err
}

// has tells whether an entry is about this.
func (s shelf) has(tx *sql.Tx, about string) (bool, error) {
	var n int
	err := tx.QueryRow("SELECT count(*) FROM "+s.table+" WHERE about = ?", about).Scan(&n)
	return n > 0, err
}

// each gives the entries of a shelf in order; about "" is all.
func (s shelf) each(tx *sql.Tx, about string, use func(kept) error) (err error) {
	if there, err := s.isThere(tx); err != nil || !there {
		return err
	}
	rows, err := tx.Query("SELECT id, about, body, hash FROM "+s.table+" WHERE about = ?1 OR ?1 = '' ORDER BY id", about)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var one kept
		if err := rows.Scan(&one.id, &one.about, &one.body, &one.hash); err != nil {
			return err
		}
		if err := use(one); err != nil {
			return err
		}
	}
	return rows.Err()
}

// read gives an entry's content back, unless it is not what was written.
func (k kept) read(s shelf, to any) error {
	if !bytes.Equal(k.sum(s), k.hash) {
		return fmt.Errorf("%w: the %s %s (number %d) is not what was written: the hash differs; journal verify names all", ErrDamaged, s.one, k.about, k.id)
	}
	if err := json.Unmarshal(k.body, to); err != nil {
		return fmt.Errorf("%w: the %s %s (number %d): %w", ErrDamaged, s.one, k.about, k.id, err)
	}
	return nil
}

// of reads the entries of a shelf, the oldest first.
func of[T any](r *Reader, s shelf, about string) (all []T, err error) {
	tx, err := r.db.Begin()
	if err != nil {
		return nil, wrap(r.path, err)
	}
	defer func() { err = errors.Join(err, tx.Rollback()) }()
	err = s.each(tx, about, func(k kept) error {
		var one T
		err := k.read(s, &one)
		all = append(all, one)
		return err
	})
	if err != nil {
		return nil, wrap(r.path, err)
	}
	return all, nil
}
