package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// journalPath is where the journal is: the flag where it was given, else
// anodized/journal.db in the place that the XDG Base Directory Specification
// names for state. That specification lets a relative path count as not set.
//
// A folder is none: it is told before anything asks the database for it.
func journalPath(e env, flag string) (string, error) {
	path, err := placeOfJournal(e, flag)
	if err != nil {
		return "", err
	}
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return "", cannot(fmt.Errorf("the journal %s is a folder: name a file, such as --journal %s", path, filepath.Join(path, "journal.db")))
	}
	return path, nil
}

// errNoPlace is the error where nothing says where the journal is.
var errNoPlace = errors.New("finding the journal: neither XDG_STATE_HOME nor HOME is set: name it with --journal PATH")

func placeOfJournal(e env, flag string) (string, error) {
	if flag != "" {
		return flag, nil
	}
	if state := e.getenv("XDG_STATE_HOME"); filepath.IsAbs(state) {
		return filepath.Join(state, "anodized", "journal.db"), nil
	}
	if home := e.getenv("HOME"); filepath.IsAbs(home) {
		return filepath.Join(home, ".local", "state", "anodized", "journal.db"), nil
	}
	return "", badInput(errNoPlace)
}
