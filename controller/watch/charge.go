package watch

// longestGap is the longest pause between readings over which charge is still
// counted. Longer ones make it unknown from there, and that is said.
const longestGap = 0.5 // s

// charge integrates the current by trapezoids on accepted readings.
type charge struct {
	t, i     float64
	coulombs float64
	started  bool
	unknown  bool
}

// push takes a reading and how far the mean since the last one stands above it. It
// returns true where a gap was too long to bridge.
func (q *charge) push(t, i, above float64) (gap bool) {
	if !q.started {
		// From the first energised second to the first reading: a triangle.
		q.coulombs, q.started = max(0, t)*i/2, true
		q.t, q.i = t, i
		return false
	}
	dt := t - q.t
	if dt > longestGap+1e-9 {
		gap, q.unknown = true, true
	}
	if dt > 0 {
		q.coulombs += dt * ((i+q.i)/2 + above)
	}
	q.t, q.i = t, i
	return gap
}
