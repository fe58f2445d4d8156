package record

// Health is how a record gets on with its disk.
type Health struct {
	QueueRows        int     // rows that wait for the disk
	Dropped          int64   // rows lost since the journal was opened
	Written          int64   // rows on the disk since the journal was opened
	Writes           int64   // transactions since the journal was opened
	LastError        string  // why the last write failed; empty once the disk takes rows again
	LastWriteSeconds float64 // how long the last write took, or the present one has taken if that is longer
}
