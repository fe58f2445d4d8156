// Package profiles holds what a shop writes down: profiles (what we want), racks
// (what hangs in the bath), metals, baths, calibrations and bench files. It has
// their types, the strict loader, and the embedded starters, each of which names
// the source or the status of every figure.
//
// The loader accepts nothing that it does not know. A mistake is reported with
// file, line and column, the value found, what is allowed, and a near miss where
// there is one. It holds no physics.
//
// Concepts. A file is parsed into a small tree of nodes that know their place
// (node.go). Each kind of file is a table of fields (profile_file.go, rack_file.go
// and so on): the key, whether it must be there, and a reader that knows its unit
// and range. Unknown keys, missing keys, near misses and the kind of a file all come
// from these tables. Curves and readings are CSV sheets of named columns (sheet.go);
// readings of a colour instrument may be CGATS.17 text (cgats.go) or CxF3 (cxf.go), too.
// Quantities carry units in files and types of hal/unit in Go; wavelengths of the
// embedded tables are in nanometres.
//
// An argument of a command names an embedded starter, a path, or - for standard
// input: the functions Open... do that, the functions Read... take bytes.
package profiles
