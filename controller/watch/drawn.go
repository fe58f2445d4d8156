package watch

// drawn is the mean current between two ages, NaN where there is none.
func (w *Watch) drawn(now, from, to float64) float64 {
	sum, n := 0.0, 0.0
	for k := range w.ring.n {
		s := w.ring.at(k)
		if age := now - s.t; age > to {
			break
		} else if age >= from {
			sum, n = sum+s.i, n+1
		}
	}
	return sum / n
}
