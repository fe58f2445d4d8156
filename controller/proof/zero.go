package proof

import (
	"fmt"
	"math"

	"anodized/hal/unit"
)

// usualEnd is the end current density that the smallest rack is worked out for: that of
// the embedded profiles.
const usualEnd unit.CurrentDensity = 0.15

// leastSteps of the meter are needed at the end of a load; below these an end by current
// density is refused.
const leastSteps = 2

// The bounds of a zero: steps of the meter, or a share of the full scale. Our choice.
const (
	zeroSteps = 2
	zeroShare = 0.001
)

// deadVolts is below what a wet cell may be touched.
const deadVolts = 5

// JudgeZero judges readings that were taken with the output off.
func JudgeZero(volts []unit.Volts, amperes []unit.Amperes, limits Supply, off bool) Zero {
	v, a := bare(volts), bare(amperes)
	z := Zero{Reads: len(a), OutputOff: off, EndDensityUsed: usualEnd}
	mean, noise := moments(a)
	z.AmpereOffset, z.AmpereNoise, z.AmpereStep = Number(mean), Number(noise), Number(shown(step(a), float64(limits.AmpereStep)))
	mean, noise = moments(v)
	z.VoltOffset, z.VoltNoise, z.VoltStep = Number(mean), Number(noise), Number(shown(step(v), float64(limits.VoltStep)))
	z.SmallestRack = unit.SquareCentimetres(leastSteps * float64(z.AmpereStep) * 1000 / float64(usualEnd))
	z.Why = z.fault(limits)
	z.OK = z.Why == ""
	return z
}

// shown is the step of the meter: what the readings show, or else that of the setpoint.
func shown(seen, otherwise float64) float64 {
	if math.IsNaN(seen) {
		return otherwise
	}
	return seen
}

func (z Zero) fault(limits Supply) string {
	amperes := math.Max(zeroSteps*float64(z.AmpereStep), zeroShare*float64(limits.HighestAmperes))
	volts := math.Max(zeroSteps*float64(z.VoltStep), zeroShare*float64(limits.HighestVolts))
	switch {
	case z.Reads == 0:
		return "the supply gave no reading with its output off"
	case !z.OutputOff:
		return "the output is not read back as off: pull the plug"
	case math.Abs(float64(z.VoltOffset)) >= deadVolts:
		return fmt.Sprintf("%.2f V with the output off: the cell is not discharged, or something else feeds it; bleed lead, then meter", float64(z.VoltOffset))
	case math.Abs(float64(z.AmpereOffset)) > amperes:
		return fmt.Sprintf("%.4g A with the output off, more than %.4g A: set the zero of the supply's meter, or find the leak", float64(z.AmpereOffset), amperes)
	case math.Abs(float64(z.VoltOffset)) > volts:
		return fmt.Sprintf("%.3f V with the output off, more than %.3f V: set the zero of the supply's meter, or let the cell run down", float64(z.VoltOffset), volts)
	}
	return ""
}

// Supply is what a supply says it can do.
type Supply struct {
	HighestVolts   unit.Volts
	HighestAmperes unit.Amperes
	VoltStep       unit.Volts
	AmpereStep     unit.Amperes
}

func bare[Q unit.Quantity](list []Q) []float64 {
	out := make([]float64, len(list))
	for i, q := range list {
		out[i] = float64(q)
	}
	return out
}
