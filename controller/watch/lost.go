package watch

import (
	"math"

	"anodized/controller/fault"
)

// lost ends the run for film that lost its contact: left is what still draws, as a share of
// what should.
func (w *Watch) lost(at float64, sure string, left, volts float64) {
	says, parts := "", float64(w.plan.Parts)
	if parts > 1 {
		says = partsLost
	}
	w.found.say(fault.ContactLost, at, sure, says, left, volts, max(1, min(parts, math.Round((1-left)*parts))), parts)
	w.raise(fault.ContactLost)
}

// partsLost takes the parts to be alike, which those who hang the rack know better.
const partsLost = "current fell to %.2f of what it should be at %.2f V: about %.0f of %.0f parts"
