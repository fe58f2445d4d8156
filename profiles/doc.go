// Package profiles holds what a shop writes down: profiles (what we want), racks
// (what hangs in the bath), metals, baths, calibrations and bench files. It has
// their types, the strict loader, and the embedded starters, each of which names
// the source or the status of every figure.
//
// The loader accepts nothing that it does not know. A mistake is reported with
// file, line and column, the value found, what is allowed, and a near miss where
// there is one. It holds no physics.
package profiles
