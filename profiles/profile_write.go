package profiles

import (
	"strconv"

	"anodized/hal/unit"
)

// Text is a profile of one target in volts as a file that [ReadProfile] reads back.
// Thresholds that the shop moved, and stages, are not in it.
func (p Profile) Text() []byte {
	to := lines{}
	to.add(true, "name", strconv.Quote(p.Name))
	to.add(true, "metal", strconv.Quote(p.Metal))
	to.add(true, "bath", strconv.Quote(p.Bath))
	to.add(true, "target", unit.Format(p.Target.Volts))
	to.add(p.Ceiling > 0, "ceiling", unit.Format(p.Ceiling))
	to.add(true, "ramp", unit.Format(p.Ramp))
	to.add(true, "current density", unit.Format(p.CurrentDensity))
	to.end(p.End)
	to.add(p.Note != "", "note", strconv.Quote(p.Note))
	return to.Bytes()
}
