package watch

import (
	"math"

	"anodized/controller/fault"
)

// bath follows the thermometer: how far it is from the temperature of the law, how
// far it moved in the run, and since when it says nothing.
type bath struct {
	mean  float64 // °C, over seconds
	first float64 // °C, NaN before enough was seen
	seen  float64 // s, when it was read last; NaN before
	began float64
}

func (b *bath) reset() { *b = bath{mean: math.NaN(), first: math.NaN(), seen: math.NaN()} }

// How the bath's temperature is judged.
const (
	bathMemory  = 3.0  // s over which readings are averaged
	bathSettled = 5.0  // s after which it is judged
	bathJump    = 5.0  // K between readings is the thermometer, not the bath
	bathSilent  = 60.0 // s without a reading
)

// warmth takes the thermometer's reading of a tick and judges it.
func (w *Watch) warmth(k Tick) {
	b, now, celsius := &w.bath, float64(k.T), float64(k.Bath)
	if !k.BathOK || math.Abs(celsius-b.mean) > bathJump {
		if now-b.seen > bathSilent {
			w.found.add(fault.BathTemperatureUnknown, now, "certain", now-b.seen, b.mean)
		}
		return
	}
	if math.IsNaN(b.mean) {
		b.mean, b.seen, b.began = celsius, now, now
	}
	b.mean += (celsius - b.mean) * min(1, (now-b.seen)/bathMemory)
	b.seen = now
	if now-b.began >= bathSettled {
		w.judgeBath(now)
	}
}

func (w *Watch) judgeBath(now float64) {
	b, window := &w.bath, w.plan.BathWindow
	if math.IsNaN(b.first) {
		b.first = b.mean
	}
	if law := float64(window.Law); window.Most > window.Least && math.Abs(b.mean-law) > w.most.BathFar {
		w.found.add(fault.BathTemperatureOutside, now, "certain", b.mean, law)
	}
	if math.Abs(b.mean-b.first) > w.most.BathMoves {
		w.found.add(fault.BathTemperatureDrift, now, "certain", b.first, b.mean)
	}
}
