package watch

import (
	"math"

	"anodized/controller/fault"
)

// polarity finds plates of steel on plus below the current limit, where the second
// point of foreign.go is not asked for: charge flows, and no film takes up the volts.
type polarity struct {
	since float64 // s; NaN while a film grows
}

func (p *polarity) reset() { *p = polarity{since: math.NaN()} }

const (
	platesKnown   = 0.25 // standard deviation of that share: readings that hardly know it say nothing of plates
	platesFrom    = 0.7  // of the volts of the contact check: enough of it has been seen
	platesMost    = 9.0  // V: a check that ends early goes over into the ramp
	platesBegin   = 1.0  // V, of the line through both: a resistor begins at none, splitting water at 1.23
	platesSeconds = 0.3
	frozenSeconds = 0.6 // s of volts that are the same to the last digit below the limit, where they climb: nothing is told from them
)

// grownNothing is the detector's share of a tick in the contact check and just above.
func (w *Watch) grownNothing(k Tick) {
	i, v := w.medianI.value(), w.medianV.value()
	begins := v - w.live.series*i
	is := k.Phase != PhaseHold && !w.paced(k) && !w.ring.at(0).below && !w.foreign.probing && v < platesMost && v > platesFrom*float64(w.plan.ContactCheck.Volts) &&
		i > 2*float64(w.plan.ContactCheck.NoContact) && w.live.inverse*w.decl < 1/w.most.PlatesArea && w.live.inverseSD*w.decl < platesKnown && !w.supply.sameV.frozen(float64(k.T)) &&
		begins > platesBegin && v-w.series()*i < platesVolts
	if since(&w.polarity.since, float64(k.T), is) >= platesSeconds-1e-9 {
		w.found.add(fault.PolaritySwapped, float64(k.T), "likely", i, v, begins)
		w.raise(fault.PolaritySwapped)
	}
}
