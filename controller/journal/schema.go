package journal

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"anodized/controller/record"
)

// The rowid of a sample or an event is run<<32 | number within the run, so that
// no further index has to be written.
const tablesOfRuns = `
CREATE TABLE run (
	id     INTEGER PRIMARY KEY,
	intent BLOB NOT NULL,
	result BLOB,
	hash   BLOB
) STRICT;
CREATE TABLE sample (id INTEGER PRIMARY KEY, batch BLOB NOT NULL) STRICT;
CREATE TABLE event (id INTEGER PRIMARY KEY, body BLOB NOT NULL) STRICT;
`

var tables = tablesOfRuns + tablesOfShelves(1) + fmt.Sprintf(`
PRAGMA application_id = %d;
PRAGMA user_version = %d;
`, applicationID, record.SchemaVersion)

// inspect says whether there is a journal at path (false: nothing yet, or a file
// whose making was cut off), without changing a byte. A file that is not ours, or
// newer, or damaged, is an error.
func inspect(path string) (bool, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) || err == nil && info.Size() == 0 && !exists(path+"-wal") {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("looking at the journal %s: %w", path, err)
	}
	db, err := openReader(path)
	if err != nil {
		return false, err
	}
	found, err := inspectTables(db, path)
	return found, errors.Join(err, db.Close())
}

func inspectTables(db *sql.DB, path string) (bool, error) {
	var application, version, objects int
	const question = `SELECT (SELECT application_id FROM pragma_application_id),
		(SELECT user_version FROM pragma_user_version), (SELECT count(*) FROM sqlite_schema)`
	if err := db.QueryRow(question).Scan(&application, &version, &objects); err != nil {
		if unmade(err) {
			return false, errUnmade
		}
		return false, wrap(path, err)
	}
	switch {
	case application == 0 && version == 0 && objects == 0:
		return false, nil
	case application != applicationID:
		return false, fmt.Errorf("%s: %w: name another file with --journal", path, ErrForeign)
	case version > record.SchemaVersion:
		return false, fmt.Errorf("%s: %w: it has schema %d and this program knows up to %d: use that version, or another file with --journal",
			path, ErrNewerSchema, version, record.SchemaVersion)
	}
	return true, nil
}

func createTables(db *sql.DB, path string) error {
	tx, err := db.Begin()
	if err != nil {
		return fmt.Errorf("beginning the journal %s: %w", path, err)
	}
	if _, err := tx.Exec(tables); err != nil {
		return fmt.Errorf("beginning the journal %s: %w", path, errors.Join(err, tx.Rollback()))
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("beginning the journal %s: %w", path, err)
	}
	return nil
}

// wrap gives damage the error that says so.
func wrap(path string, err error) error {
	if damaged(err) {
		return fmt.Errorf("%s: %w: %w", path, ErrDamaged, err)
	}
	return fmt.Errorf("reading the journal %s: %w", path, err)
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
