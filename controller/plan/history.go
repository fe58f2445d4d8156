package plan

import (
	"fmt"
	"math"
)

// History is what the good loads of the same rack, area and calibration behaved like.
// Its zero value is none.
type History struct {
	Loads int   `json:"loads"`
	Check Share `json:"check"` // at the end of the contact check
	Ramp  Share `json:"ramp"`  // where the ramp is judged
}

// Share is live area over declared area, over the loads.
type Share struct {
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
}

// LeastLoads is how many good loads make a history: of fewer the limit is wider than
// any part.
const LeastLoads = 5

// Shares are mean and standard deviation of some loads; nothing for fewer than two.
func Shares(of []float64) Share {
	n := float64(len(of))
	if n < 2 {
		return Share{}
	}
	sum, squares := 0.0, 0.0
	for _, x := range of {
		sum += x
	}
	for _, x := range of {
		squares += (x - sum/n) * (x - sum/n)
	}
	return Share{sum / n, math.Sqrt(squares / (n - 1))}
}

// check refuses a history that no loads can have made.
func (h History) check() error {
	for _, x := range []float64{h.Check.Mean, h.Check.SD, h.Ramp.Mean, h.Ramp.SD} {
		if !(x >= 0) || math.IsInf(x, 0) {
			return fmt.Errorf("the history of the rack has a share of %g: it must be 0 or more, and finite", x)
		}
	}
	return nil
}
