package journal

import (
	"crypto/sha256"
	"encoding/binary"
	"hash"
	"math"

	"anodized/controller/record"
)

// contentHash is the SHA-256 of a run: of its intent, the SHA-256 of its rows, the
// SHA-256 of its events, and its result, each with its length before it. It is
// over values and not over how they were batched.
type contentHash struct {
	intent []byte
	rows   hash.Hash
	events hash.Hash
	buffer []byte
}

func newContentHash(intent []byte) *contentHash {
	return &contentHash{intent: intent, rows: sha256.New(), events: sha256.New()}
}

func (h *contentHash) addRows(rows []record.Row) {
	for i := range rows {
		h.buffer = h.buffer[:0]
		for _, column := range floatColumns {
			h.buffer = binary.LittleEndian.AppendUint64(h.buffer, math.Float64bits(*column(&rows[i])))
		}
		for _, column := range byteColumns {
			h.buffer = append(h.buffer, *column(&rows[i]))
		}
		h.rows.Write(h.buffer)
	}
}

func (h *contentHash) addEvents(events []blob) {
	for _, ev := range events {
		writePart(h.events, ev.body)
	}
}

func (h *contentHash) sum(result []byte) []byte {
	whole := sha256.New()
	for _, part := range [][]byte{h.intent, h.rows.Sum(nil), h.events.Sum(nil), result} {
		writePart(whole, part)
	}
	return whole.Sum(nil)
}

// writePart writes to a hash, which never fails (hash.Hash).
func writePart(to hash.Hash, part []byte) {
	to.Write(binary.LittleEndian.AppendUint64(nil, uint64(len(part))))
	to.Write(part)
}
