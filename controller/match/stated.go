package match

import (
	"anodized/controller/colour"
	"anodized/profiles"
)

// StatedSD is the standard deviation of an axis, CIELAB, of readings that state how far off
// they may be. CIEDE2000 shrinks what parts two colours far from grey, so an axis is off by
// that at least.
func StatedSD(e profiles.StatedError) float64 { return e.Median / colour.MiddleOfThree }

// badness orders the verdicts: what a person must hear of first counts most.
var badness = map[Verdict]int{Accept: 1, StepUp: 2, Nearest: 3, Doubtful: 4, Overshot: 5}

// Worse tells whether a verdict is to be heard of before another; any is before none.
func (v Verdict) Worse(than Verdict) bool { return badness[v] > badness[than] }
