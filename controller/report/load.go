package report

import (
	"errors"
	"fmt"
	"image/color"
	"io"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// Load is one load as it is drawn. All of it is plain values: nothing is computed
// from a law here.
type Load struct {
	Title      string // "load 412"
	Subtitle   string // rack, profile, date
	Simulated  bool
	Ended      string // three verdicts in words, each on its own line
	Electrical string
	Colour     string
	Rows       []record.Row
	Plan       plan.Plan // limits, end criterion, area; zero values are not drawn
	Outcome    record.Outcome
	Findings   []fault.Finding
	Film       []FilmPoint // thickness over time
	Colours    []Stop      // the film's colour over time, in order, MostStops at most
	Now        Swatch      // the film at the end
	Wanted     Swatch
	Difference float64  // CIEDE2000 between them; NaN where it is not known
	Facts      []string // short lines beside the curves: areas, charge, limits
	Provenance string   // whose law gave the colours, in one sentence
}

// MostStops is how many colours a film strip may have.
const MostStops = 256

// FilmPoint is the thickness of the film at a moment, by two ways. NaN: not known.
type FilmPoint struct {
	T        unit.Seconds
	ByVolts  unit.Nanometres
	ByCharge unit.Nanometres
}

// Stop is the colour that the film had from a moment on.
type Stop struct {
	T      unit.Seconds
	Colour color.NRGBA
}

// Swatch is a colour that is shown, never without its name and thickness. A zero
// Swatch is a colour that is not known.
type Swatch struct {
	Name      string
	Hex       string
	Colour    color.NRGBA
	Thickness unit.Nanometres
	Volts     unit.Volts
	Tolerance unit.Volts // half the window within CIEDE2000 1.0; 0: not given
	Beyond    bool       // outside the screen's gamut, shown clipped
	Order     int        // of interference; 0: not given
	Lab       [3]float64 // L*, a*, b* as it is looked at; shown on sheets
}

func (s Swatch) known() bool { return s.Colour.A != 0 }

// The errors of a load that cannot be drawn.
var (
	ErrNoRows   = errors.New("the record has no row with the output on")
	ErrNoArea   = errors.New("the declared area must be above zero: a current density needs it")
	ErrTooMany  = errors.New("too many colours for one film strip")
	ErrNotInRow = errors.New("times must not run backwards")
)

// LoadPlot draws a load: volts with the film strip, current density, and
// thickness over one time axis. It returns [ErrNoRows], [ErrNoArea],
// [ErrTooMany] or [ErrNotInRow] where the load cannot be drawn, [ErrFormat] for an
// unknown format, or what the writer returned.
func LoadPlot(w io.Writer, format Format, l Load) error {
	if err := l.check(); err != nil {
		return fmt.Errorf("draw %s: %w", l.Title, err)
	}
	view := newLoadView(l)
	title := l.Title + ", " + l.Subtitle
	if l.Simulated {
		title = "SIMULATED " + title
	}
	return sheet{title, sheetWidth, sheetHeight, view.draw}.write(w, format)
}

func (l Load) check() error {
	if !(l.Plan.Area > 0) {
		return ErrNoArea
	}
	if len(l.Colours) > MostStops {
		return fmt.Errorf("%d colours, %d at most: %w", len(l.Colours), MostStops, ErrTooMany)
	}
	last, shown := unit.Seconds(0), 0
	for _, row := range l.Rows {
		if row.T < 0 {
			continue
		}
		if row.T < last {
			return fmt.Errorf("row at %.1f s after %.1f s: %w", row.T, last, ErrNotInRow)
		}
		last, shown = row.T, shown+1
	}
	if shown == 0 {
		return ErrNoRows
	}
	return nil
}
