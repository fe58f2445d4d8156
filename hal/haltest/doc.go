// Package haltest holds one conformance suite for each contract of package hal. It
// runs on every driver and on the virtual bench alike, so that a fake and a driver
// cannot agree on a mistake.
//
// # Concepts
//
// A rig is one fresh device and the hands that can act on it from the other side:
// turn its knob, lose its answer, look at its output. A rig has the hands that it
// has; a suite looks once which these are, runs the tests that can be run, and logs
// the names of the others.
//
// A suite's Run wraps each test. [testing/synctest.Test] fits, for rigs in memory;
// nil means no wrapping, for rigs on real sockets.
package haltest
