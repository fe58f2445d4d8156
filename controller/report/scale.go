package report

import (
	"fmt"
	"math"
	"strconv"
)

// scale maps values from low..high to places start..end on the sheet.
type scale struct {
	low, high  float64
	start, end float64
	log        bool
}

// at returns the place of a value; values beyond the scale stop at its ends.
func (s scale) at(value float64) float64 {
	low, high := s.low, s.high
	if s.log {
		value, low, high = math.Log(math.Max(value, s.low)), math.Log(low), math.Log(high)
	}
	share := (value - low) / (high - low)
	return s.start + (s.end-s.start)*math.Max(0, math.Min(1, share))
}

// decades are the powers of ten inside a log scale.
func (s scale) decades() []float64 {
	var out []float64
	for exponent := math.Ceil(math.Log10(s.low)); ; exponent++ {
		value := math.Pow(10, exponent)
		if value > s.high*(1+1e-9) {
			return out
		}
		out = append(out, value)
	}
}

// niceTop is the next round number at or above a value: 1, 1.5, 2, 3, 4, 5 or 8 times a power of ten.
func niceTop(value float64) float64 {
	if !(value > 0) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(value)))
	for _, step := range []float64{1, 1.5, 2, 3, 4, 5, 8} {
		if step*power >= value*(1-1e-9) {
			return step * power
		}
	}
	return 10 * power
}

// number prints a value with at most some decimals and no trailing zeros.
func number(value float64, decimals int) string {
	power := math.Pow(10, float64(decimals))
	return strconv.FormatFloat(math.Round(value*power)/power+0, 'f', -1, 64) // +0: there is no -0
}

// clock prints seconds as minutes and seconds.
func clock(seconds float64) string {
	whole := int(math.Round(seconds))
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

// timeTop is the end of a time axis: it grows in steps of 30 s, longer ones in minutes.
func timeTop(last float64) float64 {
	step := tickStep(last)
	step = math.Min(step, 30)
	return math.Max(step, step*math.Ceil(last/step-1e-9))
}

// tickStep is the distance of the ticks of a time axis, in seconds.
func tickStep(last float64) float64 {
	for _, step := range []float64{5, 10, 30, 60, 120, 300, 600, 1800, 3600} {
		if last/step <= 10 {
			return step
		}
	}
	return 3600 * math.Ceil(last/36000)
}
