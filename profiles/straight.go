package profiles

import (
	"fmt"
	"math"
)

// Straight is the calibration of one scale against a meter, in V or A: two points
// that make the line and a third that tests it.
type Straight struct {
	Date   string        `json:"date"`  // of the readings, such as 2026-03-02
	Meter  string        `json:"meter"` // which one
	Low    StraightPoint `json:"low"`   // near 10 % of the full scale
	Middle StraightPoint `json:"middle"`
	High   StraightPoint `json:"high"` // near 90 %
}

// StraightPoint is what the scale says without calibration, and what the meter shows.
type StraightPoint struct {
	Nominal float64 `json:"nominal"`
	Metered float64 `json:"metered"`
}

// The bounds of a calibration, our choice: what is further off is a mistake in the
// wiring or the scale, and must be found, not corrected away.
const (
	mostGainError = 0.05  // from 1
	mostOffset    = 0.01  // of the full scale
	mostResidual  = 0.005 // of the full scale, at the middle point
)

// Line returns the line through the low and the high point: what is true is gain
// times nominal plus offset. It is an error where a point lies in the wrong part of
// the scale, the line is far from nominal, or the middle point is not on it.
func (s Straight) Line(fullScale float64) (gain, offset float64, err error) {
	for _, p := range []struct {
		name        string
		share       float64
		least, most float64
	}{{"low", s.Low.Nominal / fullScale, 0.05, 0.2}, {"middle", s.Middle.Nominal / fullScale, 0.4, 0.6}, {"high", s.High.Nominal / fullScale, 0.8, 0.95}} {
		if !(p.share >= p.least && p.share <= p.most) {
			return 1, 0, fmt.Errorf("the %s point is at %.0f %% of the full scale of %g; it belongs between %.0f and %.0f %%", p.name, 100*p.share, fullScale, 100*p.least, 100*p.most)
		}
	}
	gain = (s.High.Metered - s.Low.Metered) / (s.High.Nominal - s.Low.Nominal)
	offset = s.Low.Metered - gain*s.Low.Nominal
	return gain, offset, s.judge(gain, offset, fullScale)
}

func (s Straight) judge(gain, offset, fullScale float64) error {
	residual := s.Middle.Metered - (gain*s.Middle.Nominal + offset)
	switch {
	case !(math.Abs(gain-1) <= mostGainError):
		return fmt.Errorf("the gain is %.4g, more than 5 %% from 1; look for the mistake in the wiring or the scale", gain)
	case !(math.Abs(offset) <= mostOffset*fullScale):
		return fmt.Errorf("the offset is %.4g, more than 1 %% of the full scale of %g; look for the mistake in the wiring or the scale", offset, fullScale)
	case !(math.Abs(residual) <= mostResidual*fullScale):
		return fmt.Errorf("the middle point is %.4g off the line, more than 0.5 %% of the full scale of %g: it is not straight, or a point is wrong; take all three again", residual, fullScale)
	}
	return nil
}
