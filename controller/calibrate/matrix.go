package calibrate

import "math"

// matrix is symmetric and of two or three rows.
type matrix [3][3]float64

// damped adds to the diagonal a share of itself.
func (m matrix) damped(share float64, rows int) matrix {
	for i := range rows {
		m[i][i] += share * m[i][i]
	}
	return m
}

// inverse is by Gauss and Jordan's elimination on the matrix with its diagonal brought
// to 1. It is not there where the readings leave a number open.
func (m matrix) inverse(rows int) (inverse matrix, ok bool) {
	var scale numbers
	for i := range rows {
		if !(m[i][i] > 0) {
			return matrix{}, false
		}
		scale[i] = 1 / math.Sqrt(m[i][i])
		inverse[i][i] = 1
	}
	for i := range rows {
		for j := range rows {
			m[i][j] *= scale[i] * scale[j]
		}
	}
	for i := range rows {
		pivot := m[i][i]
		if !(pivot > 1e-12) {
			return matrix{}, false
		}
		for j := range rows {
			m[i][j] /= pivot
			inverse[i][j] /= pivot
		}
		for k := range rows {
			if k == i {
				continue
			}
			share := m[k][i]
			for j := range rows {
				m[k][j] -= share * m[i][j]
				inverse[k][j] -= share * inverse[i][j]
			}
		}
	}
	for i := range rows {
		for j := range rows {
			inverse[i][j] *= scale[i] * scale[j]
		}
	}
	return inverse, true
}

// solve is the step that a right side asks for.
func (m matrix) solve(right numbers, rows int) (step numbers, ok bool) {
	inverse, ok := m.inverse(rows)
	if !ok {
		return step, false
	}
	for i := range rows {
		for j := range rows {
			step[i] += inverse[i][j] * right[j]
		}
	}
	return step, true
}

// spread is v' M v for the volts' own v, (1, volts): the variance of the film there.
func (m matrix) spread(volts float64) float64 {
	return max(0, m[0][0]+2*volts*m[0][1]+volts*volts*m[1][1])
}
