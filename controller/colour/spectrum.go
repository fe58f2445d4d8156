package colour

import (
	"fmt"
	"sort"

	"anodized/profiles"
)

// Meter turns measured reflectances into colours under one illuminant, by sums of
// 1 nm. It does not change and may be shared.
type Meter struct {
	weights []weight
	white   XYZ
}

// NewMeter works out the weights of an illuminant and an observer.
func NewMeter(o profiles.ColourMatching, i profiles.Light) (*Meter, error) {
	all, err := weights(o, i, 1)
	if err != nil {
		return nil, fmt.Errorf("colours of spectra: %w", err)
	}
	return &Meter{all, whiteOf(all)}, nil
}

// What a spectrum must cover for its colour to be known: instruments have 400 to 700
// nm by 10 or 20 nm, some end at 680 nm, and what lies beyond weighs less than a
// hundredth.
const (
	coversFrom = 400
	coversTo   = 680
	widestStep = 20
)

// Lab returns the colour of a spectrum, which must cover 400 to 680 nm in steps of
// 20 nm or less. Between its wavelengths a cubic goes through the nearest four, in
// the first and the last step a parabola through the nearest three, and beyond its
// ends the last value holds, as ASTM E2022 and E308 have it.
func (m *Meter) Lab(s profiles.Spectrum) (Lab, error) {
	if err := covers(s); err != nil {
		return Lab{}, err
	}
	var sum XYZ
	for k, w := range m.weights {
		r := reflectanceAt(s, float64(firstNM+k))
		sum.X += w.x * r
		sum.Y += w.y * r
		sum.Z += w.z * r
	}
	return sum.Lab(m.white), nil
}

func covers(s profiles.Spectrum) error {
	if err := checkColumns(s.Nanometres, s.Reflectance); err != nil {
		return fmt.Errorf("the spectrum %w", err)
	}
	last := len(s.Nanometres) - 1
	if s.Nanometres[0] > coversFrom || s.Nanometres[last] < coversTo {
		return fmt.Errorf("the spectrum covers %g to %g nm; %d to %d nm is needed for a colour", s.Nanometres[0], s.Nanometres[last], coversFrom, coversTo)
	}
	for i := range last {
		low, high := s.Nanometres[i], s.Nanometres[i+1]
		if high-low > widestStep && high > coversFrom && low < coversTo {
			return fmt.Errorf("the spectrum has nothing from %g to %g nm; steps of %d nm at most are needed for a colour", low, high, widestStep)
		}
	}
	return nil
}

// reflectanceAt returns a spectrum at a wavelength by Lagrange's polynomial through
// the wavelengths around it.
func reflectanceAt(s profiles.Spectrum, nm float64) float64 {
	x, last := s.Nanometres, len(s.Nanometres)-1
	switch {
	case nm <= x[0]:
		return s.Reflectance[0]
	case nm >= x[last]:
		return s.Reflectance[last]
	}
	above := sort.SearchFloat64s(x, nm)
	from, to := max(above-2, 0), min(above+1, last)
	return lagrange(x[from:to+1], s.Reflectance[from:to+1], nm)
}

func lagrange(x, y []float64, at float64) float64 {
	sum := 0.0
	for i := range x {
		term := y[i]
		for j := range x {
			if j != i {
				term *= (at - x[j]) / (x[i] - x[j])
			}
		}
		sum += term
	}
	return sum
}
