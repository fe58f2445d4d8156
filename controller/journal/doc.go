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
//   - A damaged file is set aside under a new name, never deleted. A finished run
//     whose content is not what it was closed with, by SHA-256, is not given back.
//
// # How it is kept
//
// Write-ahead log, synchronous FULL, one writer (a lock file beside the journal),
// any number of readers. A run is one row with its intent and, once finished, its
// result and content hash, as JSON; its samples are batches of about a second,
// coded without loss, column by column; its events are JSON. Times of rows and
// events are seconds since the first energised second.
//
// Beside the runs stand shelves: calibrations, colour readings of runs, and areas that
// persons adopted. An entry is JSON with its hash; it is written once, and neither
// changed nor taken out (triggers refuse it, Verify sees it). A journal of an older
// version is read as it is. Who opens it to write first makes a backup beside it, then
// adds the tables in one transaction that counts every row before and after.
//
// # What it writes
//
// Memory cards die of writes, so they are counted. Ten loads a day of four minutes
// at ten rows a second, one transaction a second, cause by page size (measured on
// ext4 with BenchmarkLoad, write_bytes of /proc/self/io, the journal opened and
// closed for each load):
//
//	 512 bytes   13.1 MB a day    4.9 kB a second of samples
//	1024 bytes   14.3 MB a day    5.3 kB
//	4096 bytes   21.5 MB a day    8.4 kB
//
// hence 512. A floor of 4.1 kB a transaction is the file system's own block. The
// writer commits each 0.9 s, which makes up to 14.5 MB of the 13.1 (computed). The disk itself took
// 16 MB a day with the journal kept open, and 23 MB where it is opened for each
// load, with all that the file system adds for itself. One load is 28 kB of file.
//
// The log is folded into the file each 1,000 pages (half a megabyte), and at the
// end. A reader that stays in one transaction holds that up; those of this package
// do not.
package journal
