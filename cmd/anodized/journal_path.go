package main

import (
	"errors"
	"path/filepath"
)

// journalPath is where the journal is: the flag where it was given, else
// anodized/journal.db in the place that the XDG Base Directory Specification
// names for state. That specification lets a relative path count as not set.
func journalPath(e env, flag string) (string, error) {
	if flag != "" {
		return flag, nil
	}
	if state := e.getenv("XDG_STATE_HOME"); filepath.IsAbs(state) {
		return filepath.Join(state, "anodized", "journal.db"), nil
	}
	if home := e.getenv("HOME"); filepath.IsAbs(home) {
		return filepath.Join(home, ".local", "state", "anodized", "journal.db"), nil
	}
	return "", badInput(errors.New("finding the journal: neither XDG_STATE_HOME nor HOME is set: name it with --journal PATH"))
}
