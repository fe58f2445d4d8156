package watch

// The thresholds of volts that stand at the limit in the contact check, too low for film.
const (
	lowVolts    = 1.5  // V, below what film, bath and leads take together
	lowSeconds  = 0.5  // s
	lowRise     = 0.1  // of the rate at which the limit's current forms a film
	slowestRise = 0.3  // of it, at least: half of the area declared, and six tenths of the charge kept
	riseSigmas  = 4    // of one reading
	coarsest    = 0.1  // V, the step of a meter that has not moved yet
	firstNoise  = 0.02 // V above a step: more is the jump from zero, not noise
)

// low tells whether the volts at the limit are low and do not rise, in the contact check.
// A rise is known to a step of the reading and its noise, so a film that grows slowly
// stands still until the slowest growth would have shown.
func (w *Watch) low(k Tick, atLimit bool) bool {
	now, rate := float64(k.T), float64(w.law.RampRate(w.plan.CurrentDensity))
	seconds := max(lowSeconds, w.riseShows(rate))
	is := k.Phase == PhaseContactCheck && atLimit && k.Volts < lowVolts
	if since(&w.supply.lowFrom, now, is) < seconds-1e-9 {
		return false
	}
	old := w.before(seconds)
	return float64(k.Volts)-old.v < lowRise*rate*(now-old.t)
}

// riseShows is how long the slowest growth takes to show, s.
func (w *Watch) riseShows(rate float64) float64 {
	step := min(w.noiseV.step, coarsest)
	if w.noiseV.step == 0 {
		step = coarsest
	}
	noise := step/3 + firstNoise
	if sd := w.noiseV.sd(); sd < noise {
		noise = sd
	}
	return (step + riseSigmas*noise) / ((slowestRise - lowRise) * rate)
}

// before is the newest reading that is so many seconds old, else the oldest.
func (w *Watch) before(seconds float64) *sample {
	newest := w.ring.at(0)
	for n := 1; n < w.ring.n; n++ {
		if s := w.ring.at(n); newest.t-s.t >= seconds-1e-9 {
			return s
		}
	}
	return w.ring.at(w.ring.n - 1)
}
