package colour

import "math"

// Grey tells whether a colour has too little chroma for its hue to mean anything.
func (c LCh) Grey() bool { return c.C < greyBelow }

// Lab returns the same colour in CIELAB.
func (c LCh) Lab() Lab {
	sin, cos := math.Sincos(c.H * math.Pi / 180)
	return Lab{L: c.L, A: c.C * cos, B: c.C * sin}
}

// greys are a colour for each of the names without a hue.
var greys = map[string]LCh{"silver": {L: 78}, "grey": {L: 52}, "dark grey": {L: 25}}

// Typical returns a colour that a name stands for: of the widest range of hues that is
// called so the middle, with a little more chroma and lightness than the name needs.
// It is our own choice, as the names are; false where nothing is called so.
func Typical(name string) (LCh, bool) {
	if grey, found := greys[name]; found {
		return grey, true
	}
	best, found := region{}, false
	for _, r := range regions {
		if r.name == name && (!found || r.to-r.from > best.to-best.from) {
			best, found = r, true
		}
	}
	return best.middle(), found
}

// middle is the first colour, from a little above what the region needs, that bears
// its name: a region of rest begins where those before it end.
func (r region) middle() LCh {
	c := LCh{H: (r.from + r.to) / 2}
	for c.C = max(r.chroma, greyBelow) + 8; c.C > greyBelow; c.C-- {
		for _, above := range []float64{10, 5, 2} {
			for _, base := range []float64{r.lightness, 30} {
				if c.L = max(r.lightness, base) + above; c.Name() == r.name {
					return c
				}
			}
		}
	}
	return c
}
