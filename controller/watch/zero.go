package watch

import (
	"math"

	"anodized/controller/fault"
	"anodized/hal/unit"
)

// zero follows what the current reads where none can flow: below zero in the run,
// and after it with the output off.
type zero struct {
	mean  float64 // A, over two seconds
	last  float64 // s
	began float64 // s, NaN before
	after float64 // A, sum with the output off
	n     float64
}

func (z *zero) reset() { *z = zero{began: math.NaN()} }

const (
	zeroSeconds = 2.0 // s over which a current below zero is averaged
	zeroWanted  = 5   // readings
)

// below: no bath gives current back to the supply.
func (w *Watch) below(k Tick) {
	z, i, now := &w.zero, w.ring.at(0).i, float64(k.T)
	if math.IsNaN(z.began) {
		z.mean, z.last, z.began = i, now, now
	}
	z.mean += (i - z.mean) * min(1, (now-z.last)/zeroSeconds)
	z.last = now
	least := max(2*w.stepAmperes(), w.most.ZeroShare*w.endAmperes())
	if now-z.began > zeroSeconds && z.mean < -least {
		w.found.add(fault.CurrentOffset, now, "certain", z.mean+float64(w.bench.Zero))
	}
}

// endAmperes is the end current; for a timed hold one per cent of the limit.
func (w *Watch) endAmperes() float64 {
	if e := w.end(); e.Time == 0 && e.Current > 0 {
		return float64(e.Current)
	}
	return float64(w.plan.CurrentLimit) / 100
}

// After takes a reading with the output read back as off and the cell discharged.
func (w *Watch) After(amperes unit.Amperes) {
	w.zero.after += float64(amperes)
	w.zero.n++
}

// Rested compares the zero after the run with that before it, once the run is over.
func (w *Watch) Rested() {
	z := &w.zero
	if z.n < zeroWanted {
		return
	}
	after := z.after / z.n
	least := max(2*w.stepAmperes(), w.most.OffsetMoves*w.endAmperes())
	if math.Abs(after-float64(w.bench.Zero)) > least {
		w.found.add(fault.CurrentOffset, w.book.last, "certain", after)
	}
}
