package watch

// lower is a current that a hold does not fall below while film grows: three
// quarters of the simple decay from the end of the ramp.
func (w *Watch) lower(held float64) float64 {
	if !(w.decay.current > 0) {
		return 0
	}
	return 0.75 * w.decay.current / (1 + max(0, held)/w.decay.relax)
}

// holdGone looks for a whole rack that fell off while the volts are held.
func (w *Watch) holdGone(k Tick) {
	now := float64(k.T)
	w.gone(w.ring.at(0), max(w.lower(now-w.decay.start), w.drewBefore(now)))
}
