package web

import (
	"fmt"
	"math"
	"sync"

	"anodized/controller"
	"anodized/controller/colour"
	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/profiles"
)

// thickest is the thickest film that the page has a colour for, in nm.
const thickest = 260

// painter knows the colours of the film. The page computes no optics.
type painter struct {
	surfaceOf func(profiles.Calibration) (*colour.Surface, error)
	usual     profiles.Calibration
	notices   func() []string

	mu       sync.Mutex
	surfaces map[optics]*palette
}

// optics are what the colours of a calibration's film hang on.
type optics struct {
	film, substrate string
	index           float64
}

// palette is a surface and its colours by the nanometre.
type palette struct {
	surface *colour.Surface
	swatch  [thickest + 1]Swatch
}

// Swatch is a colour of the film as a screen shows it.
type Swatch struct {
	Hex    string `json:"hex"`
	Name   string `json:"name"`
	Beyond bool   `json:"beyond_screen"` // shown clipped: the screen cannot show it
}

func newPainter(o Options) *painter {
	p := &painter{surfaceOf: o.Surface, usual: o.Calibration, notices: o.Notices, surfaces: map[optics]*palette{}}
	if p.notices == nil {
		p.notices = func() []string { return []string{} }
	}
	return p
}

// palette makes the colours of a film on a metal, once.
func (p *painter) palette(c profiles.Calibration) (*palette, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	key := optics{c.Film, c.Substrate, c.Index()}
	if made, known := p.surfaces[key]; known {
		return made, nil
	}
	surface, err := p.surfaceOf(c)
	if err != nil {
		return nil, fmt.Errorf("colours of %s on %s: %w", c.Film, c.Substrate, err)
	}
	made := &palette{surface: surface}
	for nm := range made.swatch {
		made.swatch[nm] = swatchOf(surface, unit.Nanometres(nm))
	}
	p.surfaces[key] = made
	return made, nil
}

func swatchOf(s *colour.Surface, d unit.Nanometres) Swatch {
	screen := s.Screen(d)
	return Swatch{Hex: screen.Hex(), Name: s.Lab(d).LCh().Name(), Beyond: !screen.InGamut}
}

// calibration is that of the load, or the usual one before the first.
func (p *painter) calibration(now *controller.Snapshot) profiles.Calibration {
	if now.Load == nil {
		return p.usual
	}
	return now.Load.Request.Plan.Calibration
}

// Field is the matching field: the film now beside the film that is wanted.
type Field struct {
	Now       *Swatch           `json:"now"`    // null: not known
	Wanted    *Swatch           `json:"wanted"` // null: no load
	NowNM     controller.Number `json:"now_nm"`
	WantedNM  controller.Number `json:"wanted_nm"`
	DE00      controller.Number `json:"de00"`
	Gap       float64           `json:"gap_percent"` // of the diameter, between the halves
	Words     string            `json:"words"`
	Beneath   string            `json:"beneath"`
	Tolerance string            `json:"tolerance"`
}

// The gap of the field: so wide at so large a difference, closed at the least.
const (
	widestGap  = 17.0
	widestDE00 = 20.0
	closedDE00 = 1.0
	openHalves = widestGap
)

// field compares the film now with the one that is wanted.
func (p *painter) field(now *controller.Snapshot) Field {
	unknown := controller.Unknown()
	f := Field{NowNM: unknown, WantedNM: unknown, DE00: unknown, Gap: openHalves}
	if now.Load == nil {
		return f
	}
	palette, err := p.palette(p.calibration(now))
	if err != nil {
		f.Words = "no colours"
		f.Beneath = err.Error()
		return f
	}
	f.compare(palette.surface, now.Load.Request.Plan, now.Estimates.ThicknessByVolts)
	f.say(now)
	return f
}

func (f *Field) compare(s *colour.Surface, p plan.Plan, film controller.Number) {
	e := p.Expected
	f.Wanted = &Swatch{Hex: e.Hex, Name: e.Name, Beyond: !e.InGamut}
	f.WantedNM = controller.Number(e.Thickness)
	f.Tolerance = fmt.Sprintf("±%.1f V is ΔE 2", e.Tolerance.DE2)
	if !film.Known() {
		return
	}
	d := unit.Nanometres(math.Max(0, float64(film)))
	swatch := swatchOf(s, d)
	f.Now, f.NowNM = &swatch, controller.Number(d)
	off := colour.Difference(s.Lab(d), colour.Lab{L: e.Lab[0], A: e.Lab[1], B: e.Lab[2]})
	f.DE00, f.Gap = controller.Number(off), gap(off)
}

func gap(de00 float64) float64 {
	if de00 <= closedDE00 {
		return 0
	}
	return widestGap * math.Min(de00, widestDE00) / widestDE00
}

func (f *Field) say(now *controller.Snapshot) {
	f.Beneath = nanometres(f.NowNM, f.WantedNM)
	switch {
	case now.Question != nil && now.Question.Code != controller.GoodByEye:
		f.Words, f.Beneath = "nothing", "is spoiled"
	case now.State == "tripped" && f.NowNM.Known():
		f.Words, f.Beneath = "as left", fmt.Sprintf("%.0f nm", float64(f.NowNM))
	case f.DE00.Known():
		f.Words = fmt.Sprintf("ΔE %.*f", decimals(float64(f.DE00)), float64(f.DE00))
		if f.DE00 <= closedDE00 {
			f.Beneath = "the same"
		}
	}
}

// decimals of a difference: tenths count only where it is small.
func decimals(de00 float64) int {
	if de00 < 10 {
		return 1
	}
	return 0
}

func nanometres(now, wanted controller.Number) string {
	switch {
	case now.Known() && wanted.Known():
		return fmt.Sprintf("%.0f of %.0f nm", float64(now), float64(wanted))
	case wanted.Known():
		return fmt.Sprintf("%.0f nm", float64(wanted))
	}
	return ""
}
