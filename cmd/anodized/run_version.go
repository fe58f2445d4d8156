package main

import "runtime/debug"

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
