package controller

import (
	"math"

	"anodized/hal/unit"
)

const (
	warmthStep unit.Celsius = 5  // no bath moves so far between two readings: the thermometer does
	warmthStay unit.Seconds = 10 // after which another temperature is that of another bath
)

// warmth decides which readings of the bath's thermometer are readings. One that jumps,
// such as a chip that shows its power-on value, is none, and while the output is on it
// stays none: a temperature must not end a run by a number that no bath can have reached.
type warmth struct {
	kept  unit.Celsius // the last that was believed
	known bool
	since unit.Seconds // when it began to be another; NaN while it is not
}

// believes takes a reading and tells whether it is one.
func (w *warmth) believes(c unit.Celsius, now unit.Seconds, energised bool) bool {
	if w.known && math.Abs(float64(c-w.kept)) > float64(warmthStep) {
		if math.IsNaN(float64(w.since)) {
			w.since = now
		}
		if energised || now-w.since < warmthStay {
			return false
		}
	}
	w.kept, w.known, w.since = c, true, unit.Seconds(math.NaN())
	return true
}
