package watch

// moments are when the last few of something happened.
type moments struct {
	t [8]float64
	n int
}

func (m *moments) push(t float64) {
	m.t[m.n%len(m.t)] = t
	m.n++
}

// lately is how many of them, at most eight, lie within the last seconds.
func (m *moments) lately(now, seconds float64) (count int) {
	for k := range min(m.n, len(m.t)) {
		if now-m.t[k] <= seconds+1e-9 {
			count++
		}
	}
	return count
}
