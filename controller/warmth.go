package controller

import (
	"fmt"
	"math"

	"anodized/controller/fault"
	"anodized/controller/process"
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

// unreadBath is how long a load may be under power before it is told that the bath was not
// read in it.
const unreadBath unit.Seconds = 60

// watchBath tells of a thermometer that let the load begin and was not read in it: the rows
// look like those of a bench without one, so that the watch cannot know.
func (s *Station) watchBath(cmd process.Command) {
	o := &s.owner
	on := o.input.Now - cmd.T // when the load came under power
	if bath := &o.input.Bath; cmd.On && o.load != nil && bath.Fitted && cmd.T > unreadBath && bath.At <= on+1e-6 {
		s.mark(cmd, fault.BathTemperatureUnknown, fmt.Sprintf("the thermometer was not read in the %.0f s of this load", float64(cmd.T)))
	}
}
