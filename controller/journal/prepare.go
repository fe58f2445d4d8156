package journal

import (
	"encoding/json"
	"fmt"
	"math"

	"anodized/controller/record"
	"anodized/hal/unit"
)

// prepare makes the next entry unless one waits to be tried again; false where
// there is nothing to write.
func (w *writer) prepare() bool {
	if w.ready != nil {
		return true
	}
	if w.current == nil {
		return false
	}
	rows, events, lost := w.ring.take(mostEntryRows)
	bodies := w.eventBlobs(events, lost)
	if len(rows)+len(bodies) > 0 {
		w.ready = &prepared{rows: rows, entry: entry{run: w.current.id, batches: w.batchBlobs(rows), events: bodies}}
		return true
	}
	return w.prepareResult()
}

func (w *writer) prepareResult() bool {
	if w.finish == nil {
		return false
	}
	body := w.finish.body
	w.ready = &prepared{entry: entry{run: w.current.id, result: body, hash: w.current.hash.sum(body)}}
	return true
}

func (w *writer) batchBlobs(rows []record.Row) []blob {
	var blobs []blob
	for len(rows) > 0 {
		n := min(len(rows), mostBatch)
		blobs = append(blobs, blob{number: w.current.batches, body: encodeBatch(rows[:n])})
		w.current.batches++
		rows = rows[n:]
	}
	return blobs
}

// eventBlobs codes events as JSON. Events that JSON cannot say (a NaN in them) are
// counted, and the count is noted in their place.
func (w *writer) eventBlobs(events []record.Event, lost gap) []blob {
	var blobs []blob
	for _, ev := range events {
		body, err := json.Marshal(ev)
		if err != nil {
			lost.events++
			continue
		}
		blobs = w.number(blobs, body)
	}
	for _, ev := range lost.notes() {
		if body, err := json.Marshal(ev); err == nil { // text and a finite number: no error to come
			blobs = w.number(blobs, body)
		}
	}
	return blobs
}

func (w *writer) number(blobs []blob, body []byte) []blob {
	blobs = append(blobs, blob{number: w.current.events, body: body})
	w.current.events++
	return blobs
}

// The codes of the gaps in a record.
const (
	codeRowsDropped = "rows-dropped"
	codeRecordGap   = "record-gap"
)

// notes are what a run says of a gap.
func (g gap) notes() []record.Event {
	var notes []record.Event
	from, to := finite(g.from), finite(g.to)
	if g.rows > 0 {
		notes = append(notes, record.Event{T: to, Kind: "gap", Code: codeRowsDropped,
			Text: fmt.Sprintf("%d rows from %.1f s to %.1f s are missing: the disk did not take them in time", g.rows, from, to)})
	}
	if g.events > 0 {
		notes = append(notes, record.Event{T: to, Kind: "gap", Code: codeRecordGap,
			Text: fmt.Sprintf("%d events are missing: the disk did not take them in time, or they held no number", g.events)})
	}
	return notes
}

// finite is for JSON, which has no NaN.
func finite(t unit.Seconds) unit.Seconds {
	if math.IsNaN(float64(t)) || math.IsInf(float64(t), 0) {
		return 0
	}
	return t
}
