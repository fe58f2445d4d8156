package main

import (
	"runtime/debug"
	"time"
)

// softwareVersion is the version of this build, as the record keeps it.
func softwareVersion() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	version := info.Main.Version
	for _, setting := range info.Settings {
		if setting.Key == "vcs.revision" && version == "(devel)" {
			return version + " " + setting.Value
		}
	}
	return version
}

// writtenIn is the year of this code, for a build that does not say when it was made.
const writtenIn = 2026

// buildYear is the year before which no clock can be right.
func buildYear() int {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return writtenIn
	}
	for _, setting := range info.Settings {
		if setting.Key != "vcs.time" {
			continue
		}
		if made, err := time.Parse(time.RFC3339, setting.Value); err == nil {
			return made.Year()
		}
	}
	return writtenIn
}
