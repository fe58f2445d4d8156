package watch

import (
	"math"

	"anodized/controller/fault"
)

// spoilers are what the regression of area.go does not know of: with one of these
// among the readings it still finds a series resistance, and a wrong one.
var spoilers = [...]fault.Code{fault.ContactLost, fault.ContactIntermittent, fault.PartMissing,
	fault.OxideAlreadyPresent, fault.MixedRack, fault.ForeignMetalWetted}

// doubt remembers that what spoils the series resistance was found while readings
// still went into it: in a hold none does.
func (w *Watch) doubt(k Tick) {
	if w.spoilt || k.Phase == PhaseHold {
		return
	}
	for _, code := range spoilers {
		w.spoilt = w.spoilt || w.found.has(code)
	}
}

// ohms is the series resistance as the readings show it; not a number where they do
// not support one.
func (w *Watch) ohms() float64 {
	if w.spoilt {
		return math.NaN()
	}
	return w.live.series
}
