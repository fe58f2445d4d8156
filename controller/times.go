package controller

import "anodized/hal/unit"

// TimeBounds are the upper bounds of what [Times] tells apart: from a tick in time to one
// that came when the next should have, the bounds on off (50 and 350 ms), and beyond.
var TimeBounds = [...]unit.Seconds{0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 1, 2}

// Times counts how long something took, by its length, in constant memory.
type Times struct {
	Within [len(TimeBounds)]uint64 // not above the bound of the same place, and above the one before
	Count  uint64                  // all of them, those above the last bound too
	Sum    unit.Seconds
}

func (t *Times) add(took unit.Seconds) {
	t.Count++
	t.Sum += took
	for i, bound := range TimeBounds {
		if took <= bound {
			t.Within[i]++
			return
		}
	}
}
