package calibrate

import (
	"fmt"
	"strings"

	"anodized/profiles"
)

// Range is the nanometres a volt that a metal can have, and who says so.
type Range struct {
	Least, Most float64
	Source      string
}

// RangeOf is what is published for the films of a metal. For a metal of the shop it is
// half to twice what its growth constants say.
func RangeOf(metal profiles.Metal, expected float64) Range {
	switch {
	case strings.HasPrefix(metal.ID, "titanium"):
		return Range{1.4, 2.8, "1.4 to 2.78 nm/V are published for titanium in any bath: Sul et al., Med. Eng. Phys. 23 (2001) 329"}
	case metal.ID == "niobium":
		return Range{2.0, 3.8, "2.5 nm/V on sheet is common practice, no source; 3.6 +- 0.2 is published for powder anodes"}
	case metal.ID == "tantalum":
		return Range{1.5, 2.1, "1.6 to 1.7 nm/V, from memory of capacitor practice; 1.65 +- 0.03 is published for Ta-Al films"}
	}
	return Range{expected / 2, 2 * expected, fmt.Sprintf("half to twice the %.3g nm/V that is expected of %s", expected, metal.ID)}
}

func (r Range) holds(nmPerVolt float64) bool { return nmPerVolt >= r.Least && nmPerVolt <= r.Most }
