// Package journal keeps the record of every run in one SQLite file. It is the
// only importer of the database driver.
//
// # What it promises
//
//   - [Journal.Begin] returns only when the intent of a run is on the disk, so
//     there is never an energised second without its intent row.
//   - [Journal.Append] and [Journal.Note] never wait for the disk: rows go to a
//     ring of ten minutes, one goroutine writes them, and what the ring cannot
//     hold is counted and noted in the run as a gap.
//   - A run that was never finished, because the process or the power went, reads
//     back as interrupted, with everything up to the last batch. At most a second
//     of rows (and the stall of the disk, where there was one) is lost.
//   - Rows keep their exact bits, so a replay or a review of a recorded run gives
//     the numbers of the run itself.
//   - A damaged file is set aside under a new name, never deleted.
//
// # How it is kept
//
// Write-ahead log, synchronous FULL, one writer (a lock file beside the journal),
// any number of readers. A run is one row with its intent and, once finished, its
// result and content hash, as JSON; its samples are batches of about a second,
// coded without loss by [encodeBatch]; its events are JSON. Times of rows and
// events are seconds since the first energised second.
package journal
