package watch

import "math"

// median5 is a running median of the last five values, NaN until there are any.
type median5 struct {
	v    [5]float64
	n    int
	next int
	now  float64
}

func (m *median5) push(x float64) float64 {
	m.v[m.next] = x
	m.next = (m.next + 1) % 5
	if m.n < 5 {
		m.n++
	}
	m.now = m.middle()
	return m.now
}

func (m *median5) value() float64 {
	if m.n == 0 {
		return math.NaN()
	}
	return m.now
}

func (m *median5) middle() float64 {
	var s [5]float64
	for k := 0; k < m.n; k++ {
		x := m.v[k]
		j := k
		for ; j > 0 && s[j-1] > x; j-- {
			s[j] = s[j-1]
		}
		s[j] = x
	}
	return s[m.n/2]
}
