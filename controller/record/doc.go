// Package record holds the rows of the journal as values: what was intended, what
// was read and commanded at each tick, what happened, and how it ended. The
// Station writes them, the journal keeps them, review and report read them.
package record
