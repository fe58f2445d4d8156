package analog

import (
	"fmt"
	"math"

	"anodized/hal"
	"anodized/hal/analog/chip"
	"anodized/hal/unit"
)

// Scale says what volts at a pin stand for, in V or A: Pin volts mean Means, and
// the true value is Gain times that plus Offset.
type Scale struct {
	Pin          unit.Volts
	Means        float64
	Gain, Offset float64
}

// The bounds of a calibration: a line that is further from nominal is a mistake in
// the wiring or in the scale, and is not corrected away.
const (
	MostGain   = 0.05 // from 1
	MostOffset = 0.01 // of the full scale
)

func (s Scale) check(what string) error {
	switch {
	case !(s.Pin > 0) || !(s.Means > 0):
		return fmt.Errorf("%s: %v V mean %v: both must be above 0", what, float64(s.Pin), s.Means)
	case !(math.Abs(s.Gain-1) <= MostGain+1e-12):
		return fmt.Errorf("%s: a gain of %v is more than 5 %% from 1", what, s.Gain)
	case !(math.Abs(s.Offset) <= MostOffset*s.Means+1e-12):
		return fmt.Errorf("%s: an offset of %v is more than 1 %% of %v", what, s.Offset, s.Means)
	}
	return nil
}

func (s Scale) value(pin unit.Volts) float64 {
	return s.Gain*float64(pin)/float64(s.Pin)*s.Means + s.Offset
}

// Program is a program input of the supply. DeadBand is the value below which the
// supply does not follow, in V or A.
type Program struct {
	Lane     *Lane
	Output   chip.Output
	Scale    Scale
	DeadBand float64
}

// Monitor is a monitor output of the supply.
type Monitor struct {
	Lane  *Lane
	Input chip.Input
	Scale Scale
}

// grace is the part of a step by which a value may miss it and still count as it:
// 1.15 / 0.01 is 114.99999999999999 in binary.
const grace = 1e-6

// step is what one code makes.
func (p Program) step() float64 {
	lsb := float64(p.Output.FullScale()) / float64(p.Output.Codes())
	return p.Scale.Gain * lsb / float64(p.Scale.Pin) * p.Scale.Means
}

// code is the highest code that makes no more than the value.
func (p Program) code(value float64) int {
	if value < p.DeadBand || value < p.step()*(1-grace) {
		return 0 // whatever the offset says: less than a step is rounded down to nothing
	}
	code := math.Floor((value-p.Scale.Offset)/p.step() + grace)
	return int(min(max(code, 0), float64(p.Output.Codes()-1)))
}

// held is what a code makes. Code 0 is zero, whatever the line through the
// calibration's points says down there.
func (p Program) held(code int) float64 {
	if code == 0 {
		return 0
	}
	return max(0, float64(code)*p.step()+p.Scale.Offset)
}

// check demands that the program reaches the highest value, in its last step.
func (p Program) check(what string, highest float64) error {
	if p.Lane == nil || p.Output == nil {
		return fmt.Errorf("%s: no converter was given", what)
	}
	if err := p.Scale.check(what); err != nil {
		return err
	}
	if !(p.DeadBand >= 0 && p.DeadBand <= 0.1*highest) {
		return fmt.Errorf("%s: a dead band of %v: 0 to a tenth of %v are allowed", what, p.DeadBand, highest)
	}
	if most := p.held(p.Output.Codes() - 1); most+p.step() < highest {
		return fmt.Errorf("%s: %w: its highest code makes %.4g, %.4g were promised", what, hal.ErrRange, most, highest)
	}
	return nil
}

func (m Monitor) check(what string) error {
	if m.Lane == nil || m.Input == nil {
		return fmt.Errorf("%s: no converter was given", what)
	}
	return m.Scale.check(what)
}
