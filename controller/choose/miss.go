package choose

import (
	"fmt"
	"math"

	"anodized/controller/colour"
)

// Miss is one reason why no film of a metal has a colour.
type Miss struct {
	Code    string
	Message string
}

// The reasons.
const (
	TooDark     = "too-dark"
	TooLight    = "too-light"
	NoSuchHue   = "no-such-hue"
	TooVivid    = "too-vivid"
	TooMuted    = "too-muted"
	NotTogether = "not-together"
)

// Allowances of the reasons: lightness or chroma within so much of a film's is not
// what a colour fails by, and films within so many degrees have its hue.
const (
	slack   = 2.0
	sameHue = 15.0
)

// span is a least and a most value, and the rows where they are.
type span struct {
	least, most     float64
	atLeast, atMost int
	any             bool
}

func (s *span) take(value float64, row int) {
	if !s.any || value < s.least {
		s.least, s.atLeast = value, row
	}
	if !s.any || value > s.most {
		s.most, s.atMost = value, row
	}
	s.any = true
}

// misses compares a colour with all films of the chart.
func (e *Eye) misses(want colour.Lab) []Miss {
	w := want.LCh()
	var light, vivid span
	for i := range e.chart.Len() {
		c := e.chart.Lab(i).LCh()
		light.take(c.L, i)
		if w.Grey() && math.Abs(c.L-w.L) <= 3*slack || !w.Grey() && !c.Grey() && math.Abs(turn(w, c)) <= sameHue {
			vivid.take(c.C, i)
		}
	}
	found := append(e.missesOfLight(w, light), e.missesOfHue(w, vivid)...)
	if len(found) == 0 {
		found = append(found, e.notTogether(want))
	}
	return found
}

func (e *Eye) missesOfLight(w colour.LCh, light span) []Miss {
	switch {
	case w.L < light.least-slack:
		return []Miss{{TooDark, fmt.Sprintf("L* %.0f is darker than any film: the darkest, at %.1f V, has L* %.0f. A clear film dims some of the metal's light, never all",
			w.L, float64(e.chart.Volts(light.atLeast)), light.least)}}
	case w.L > light.most+slack:
		return []Miss{{TooLight, fmt.Sprintf("L* %.0f is lighter than any film: the lightest, at %.1f V, has L* %.0f, and the bare metal L* %.0f",
			w.L, float64(e.chart.Volts(light.atMost)), light.most, e.surface.Lab(0).L)}}
	}
	return nil
}

func (e *Eye) missesOfHue(w colour.LCh, vivid span) []Miss {
	switch {
	case !vivid.any && w.Grey():
		return nil
	case !vivid.any:
		return []Miss{{NoSuchHue, fmt.Sprintf("no film has a hue within %g degrees of %.0f", sameHue, w.H)}}
	case w.Grey() && vivid.least > w.C+slack:
		return []Miss{{TooMuted, fmt.Sprintf("films of this lightness have a colour: the greyest, at %.1f V, is %s with chroma %.0f",
			float64(e.chart.Volts(vivid.atLeast)), e.name(vivid.atLeast), vivid.least)}}
	case w.C > vivid.most+slack:
		return []Miss{{TooVivid, fmt.Sprintf("chroma %.0f is more than any film of this hue has: the most vivid, %s at %.1f V, has %.0f. A film holds back a broad band of the spectrum, never all but one end of it",
			w.C, e.name(vivid.atMost), float64(e.chart.Volts(vivid.atMost)), vivid.most)}}
	case !w.Grey() && w.C < vivid.least-slack:
		return []Miss{{TooMuted, fmt.Sprintf("chroma %.0f is less than any film of this hue has: the least, %s at %.1f V, has %.0f. A blasted or brushed surface mutes a colour; a film does not",
			w.C, e.name(vivid.atLeast), float64(e.chart.Volts(vivid.atLeast)), vivid.least)}}
	}
	return nil
}

// notTogether is a colour whose lightness, chroma and hue all occur, in other films.
func (e *Eye) notTogether(want colour.Lab) Miss {
	near := e.chart.Best(want, 1)[0]
	w, c := want.LCh(), near.Lab.LCh()
	return Miss{NotTogether, fmt.Sprintf("its lightness, chroma and hue occur, but not in one film: the nearest, at %.1f V, is %.0f in L* and %.0f in chroma away, its hue %.0f degrees",
		float64(near.Volts), math.Abs(c.L-w.L), math.Abs(c.C-w.C), math.Abs(turn(w, c)))}
}

func (e *Eye) name(row int) string { return e.chart.Lab(row).LCh().Name() }
