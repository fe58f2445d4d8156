package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"anodized/controller/record"
)

// Migration is what was done to a journal of an older version. Its zero value is nothing.
type Migration struct {
	From, To int
	Backup   string // the journal as it was
}

// migrate brings a journal that has been looked over to the present version: first a
// backup beside it, whole and durable, then one transaction that adds tables and leaves
// every row as it is, which is counted. A journal that cannot be backed up stays as it is.
func migrate(db *sql.DB, path string) (Migration, error) {
	done, err := migrated(db, path)
	if err != nil {
		return Migration{}, fmt.Errorf("bringing the journal %s from version %d to %d: %w; it is as it was", path, done.From, record.SchemaVersion, err)
	}
	return done, nil
}

func migrated(db *sql.DB, path string) (Migration, error) {
	var version int
	if err := db.QueryRow("SELECT user_version FROM pragma_user_version").Scan(&version); err != nil {
		return Migration{}, err
	}
	if version == record.SchemaVersion {
		return Migration{}, nil
	}
	done := Migration{From: version, To: record.SchemaVersion}
	if version < 1 || version > record.SchemaVersion {
		return done, fmt.Errorf("%w: no journal has that version", ErrDamaged)
	}
	for _, s := range shelves {
		if there, err := s.isThere(db); err != nil {
			return done, err
		} else if there != (version >= s.since) {
			return done, fmt.Errorf("%w: the version is %d, and the table %s does not fit it", ErrDamaged, version, s.table)
		}
	}
	before, err := countRows(db)
	if err != nil {
		return done, err
	}
	if done.Backup, err = backupBefore(path, version, before); err != nil {
		return done, err
	}
	return done, disk{db}.transact(func(tx *sql.Tx) error { return addShelves(tx, version, before) })
}

func addShelves(tx *sql.Tx, version int, before counts) error {
	if _, err := tx.Exec(tablesOfShelves(version)); err != nil {
		return err
	}
	after, err := countRows(tx)
	if err != nil {
		return err
	}
	if after != before {
		return fmt.Errorf("it had %v before and %v after", before, after)
	}
	_, err = tx.Exec(fmt.Sprintf("PRAGMA user_version = %d", record.SchemaVersion))
	return err
}

// counts are the rows of a journal: how many, and the sum of what they hold.
type counts struct{ runs, samples, events, kept, bytes int64 }

func (c counts) String() string {
	return fmt.Sprintf("%d runs, %d batches of samples, %d events and %d entries beside them, of %d bytes", c.runs, c.samples, c.events, c.kept, c.bytes)
}

func countRows(of asked) (counts, error) {
	const question = `SELECT (SELECT count(*) FROM run), (SELECT count(*) FROM sample), (SELECT count(*) FROM event),
		(SELECT coalesce(sum(length(intent) + coalesce(length(result), 0)), 0) FROM run)
		+ (SELECT coalesce(sum(length(batch)), 0) FROM sample) + (SELECT coalesce(sum(length(body)), 0) FROM event)`
	var c counts
	if err := of.QueryRow(question).Scan(&c.runs, &c.samples, &c.events, &c.bytes); err != nil {
		return c, err
	}
	for _, s := range shelves {
		there, err := s.isThere(of)
		if err != nil {
			return c, err
		}
		if !there {
			continue
		}
		var kept, bytes int64
		if err := of.QueryRow("SELECT count(*), coalesce(sum(length(body)), 0) FROM "+s.table).Scan(&kept, &bytes); err != nil {
			return c, err
		}
		c.kept, c.bytes = c.kept+kept, c.bytes+bytes
	}
	return c, nil
}

// backupBefore copies the journal to a name that says its version, and counts the rows
// of the copy.
func backupBefore(path string, version int, want counts) (string, error) {
	to := fmt.Sprintf("%s.version-%d", path, version)
	for n, first := 2, to; exists(to); n++ {
		to = fmt.Sprintf("%s-%d", first, n)
	}
	half := to + ".making"
	if err := os.Remove(half); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("backing it up: %w", err)
	}
	from, err := OpenReadOnly(path)
	if err != nil {
		return "", err
	}
	if err := errors.Join(from.Backup(context.Background(), half), from.Close()); err != nil {
		return "", err
	}
	if err := sameCounts(half, want); err != nil {
		return "", errors.Join(err, os.Remove(half))
	}
	if err := os.Rename(half, to); err != nil {
		return "", fmt.Errorf("backing it up: %w", err)
	}
	return to, syncDirectory(to)
}

func sameCounts(backup string, want counts) error {
	copied, err := OpenReadOnly(backup)
	if err != nil {
		return err
	}
	got, err := countRows(copied.db)
	if err := errors.Join(err, copied.Close()); err != nil {
		return err
	}
	if got != want {
		return fmt.Errorf("the backup %s has %v, and the journal %v", backup, got, want)
	}
	return nil
}
