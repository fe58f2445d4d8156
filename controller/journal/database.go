package journal

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
)

// The settings of the file. Pages are small because a memory card writes whole
// pages: with 512 bytes, one second of samples is one frame of the log; the
// figures are in doc.go. The log is folded into the file each walPages pages, and
// cut back to walLimit should a long reader have let it grow. A connection keeps
// cacheKiB of pages: rows are appended, so more of them (2,000 KiB by default) would
// only make a process that keeps a record grow for its first hour.
const (
	applicationID = 0x416e6f64 // "Anod"
	pageSize      = 512
	cacheKiB      = 256
	walPages      = 1000
	walLimit      = 4 << 20
	busyMillis    = 4000
)

// Settings of a connection go in the data-source name, so that each connection of
// the pool has them. The driver sets _journal_mode after all of _pragma, which the
// page size has to come before.
func writerName(path string) string {
	return dataSource(path, url.Values{
		"_txlock":       {"immediate"},
		"_dqs":          {"0"},
		"_defensive":    {"1"},
		"_journal_mode": {"WAL"},
		"_synchronous":  {"FULL"},
		"_pragma": {
			fmt.Sprintf("busy_timeout(%d)", busyMillis),
			fmt.Sprintf("page_size(%d)", pageSize),
			fmt.Sprintf("cache_size(%d)", -cacheKiB),
			fmt.Sprintf("wal_autocheckpoint(%d)", walPages),
			fmt.Sprintf("journal_size_limit(%d)", walLimit),
			"cell_size_check(1)",
		},
	})
}

func readerName(path string) string {
	settings := url.Values{
		"mode":       {"ro"},
		"_dqs":       {"0"},
		"_defensive": {"1"},
		"_pragma":    {fmt.Sprintf("busy_timeout(%d)", busyMillis), fmt.Sprintf("cache_size(%d)", -cacheKiB), "cell_size_check(1)"},
	}
	if closedForGood(path) {
		settings.Set("immutable", "1")
	}
	return dataSource(path, settings)
}

// closedForGood tells whether the journal is on a disk that takes no writes, and was closed well
// before: the index of its log could not be made there, and is not needed.
func closedForGood(path string) bool {
	_, err := os.Stat(path + "-wal")
	return errors.Is(err, fs.ErrNotExist) && unwritable(path)
}

func dataSource(path string, settings url.Values) string {
	if absolute, err := filepath.Abs(path); err == nil {
		path = absolute
	}
	name := url.URL{Scheme: "file", Path: path, RawQuery: settings.Encode()}
	return name.String()
}

func openWriter(path string) (*sql.DB, error) {
	stallApart()
	db, err := sql.Open("sqlite", writerName(path))
	if err != nil {
		return nil, fmt.Errorf("opening the journal %s: %w", path, err)
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

func openReader(path string) (*sql.DB, error) {
	stallApart()
	db, err := sql.Open("sqlite", readerName(path))
	if err != nil {
		return nil, fmt.Errorf("opening the journal %s to read: %w", path, err)
	}
	db.SetMaxOpenConns(2)
	return db, nil
}
