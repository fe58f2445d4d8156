package bands

import (
	"fmt"
	"math"
	"slices"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// Band is a bell of a width at half its height.
type Band struct{ Middle, Width unit.Nanometres }

// Sample is a reading whose colour is known.
type Sample struct {
	Table   string // what made it: samples of one table are left out together
	Reading []float64
	XYZ     colour.XYZ
}

// Matrix turns readings into colours.
type Matrix struct {
	Bands []Band
	Error Error // stated
	white colour.XYZ
	rows  [3][]float64
}

// Error is the colour difference, CIEDE2000, of samples that the fit had not seen, read with
// the noise that it was fitted for.
type Error struct {
	Median  float64 `json:"median_de00"`
	P95     float64 `json:"p95_de00"`
	Worst   float64 `json:"worst_de00"`
	Samples int     `json:"samples"`
	Tables  int     `json:"tables"`
}

// Fit fits a matrix to samples, for readings with a noise of this share of white.
func Fit(of []Band, samples []Sample, white colour.XYZ, noise float64) (*Matrix, error) {
	if len(of) < 3 || !(noise > 0) {
		return nil, fmt.Errorf("fit a colour sensor: %d bands and a noise of %g: 3 bands and a noise above 0 are needed", len(of), noise)
	}
	for _, s := range samples {
		if len(s.Reading) != len(of) {
			return nil, fmt.Errorf("fit a colour sensor: a sample of %s has %d bands, not %d", s.Table, len(s.Reading), len(of))
		}
	}
	m := &Matrix{Bands: of, white: white}
	var err error
	if m.rows, err = solve(samples, len(of), "", noise); err != nil {
		return nil, err
	}
	m.Error, err = m.leftOut(samples, noise)
	return m, err
}

// leftOut predicts each table's samples by a fit without them.
func (m *Matrix) leftOut(samples []Sample, noise float64) (Error, error) {
	var off []float64
	without := map[string]*Matrix{}
	for _, s := range samples {
		if without[s.Table] == nil {
			rows, err := solve(samples, len(m.Bands), s.Table, noise)
			if err != nil {
				return Error{}, err
			}
			without[s.Table] = &Matrix{white: m.white, rows: rows}
		}
		off = append(off, without[s.Table].miss(s, noise))
	}
	slices.Sort(off)
	return Error{Median: off[len(off)/2], P95: off[len(off)*95/100], Worst: off[len(off)-1], Samples: len(off), Tables: len(without)}, nil
}

// miss is the root mean square of the differences of a sample's readings with noise. Noise
// of independent bands is stood for by one band after the other, up and down, by the noise
// times the root of their number: the same mean square to first order.
func (m *Matrix) miss(s Sample, noise float64) float64 {
	wanted, reading := s.XYZ.Lab(m.white), slices.Clone(s.Reading)
	step := noise * math.Sqrt(float64(len(reading)))
	squares := 0.0
	for k, share := range s.Reading {
		for _, off := range []float64{-step, step} {
			reading[k] = share + off
			d := colour.Difference(m.Lab(reading), wanted)
			squares += d * d
		}
		reading[k] = share
	}
	return math.Sqrt(squares / float64(2*len(reading)))
}

// XYZ is the colour of a reading, of white Y 100.
func (m *Matrix) XYZ(reading []float64) colour.XYZ {
	var sum [3]float64
	for i, row := range m.rows {
		for k, share := range reading {
			sum[i] += row[k] * share
		}
	}
	return colour.XYZ{X: sum[0], Y: sum[1], Z: sum[2]}
}

// Lab is the colour of a reading.
func (m *Matrix) Lab(reading []float64) colour.Lab { return m.XYZ(reading).Lab(m.white) }

// solve is the least squares with a ridge of the noise: each sample stands for itself with
// that noise on each band.
func solve(samples []Sample, n int, without string, noise float64) (rows [3][]float64, err error) {
	normal := make([][]float64, n)
	for i := range normal {
		normal[i] = make([]float64, n+3)
	}
	used := 0
	for _, s := range samples {
		if s.Table == without {
			continue
		}
		used++
		wanted := s.XYZ.Array()
		for i, a := range s.Reading {
			for k, b := range s.Reading {
				normal[i][k] += a * b
			}
			for k, w := range wanted {
				normal[i][n+k] += a * w
			}
		}
	}
	if used < n {
		return rows, fmt.Errorf("fit a colour sensor: %d samples without %s are too few for %d bands", used, without, n)
	}
	for i := range normal {
		normal[i][i] += float64(used) * noise * noise
	}
	eliminate(normal)
	for k := range rows {
		rows[k] = make([]float64, n)
		for i := range normal {
			rows[k][i] = normal[i][n+k]
			if math.IsNaN(rows[k][i]) || math.IsInf(rows[k][i], 0) {
				return rows, fmt.Errorf("fit a colour sensor: the samples do not determine its matrix")
			}
		}
	}
	return rows, nil
}

// eliminate solves a symmetric and positive system, its right sides behind it: with the
// ridge no pivot is near zero.
func eliminate(a [][]float64) {
	for p := range a {
		for i := range a {
			if i == p {
				continue
			}
			share := a[i][p] / a[p][p]
			for k := p; k < len(a[i]); k++ {
				a[i][k] -= share * a[p][k]
			}
		}
	}
	for p := range a {
		for k := len(a); k < len(a[p]); k++ {
			a[p][k] /= a[p][p]
		}
	}
}
