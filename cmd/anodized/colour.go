package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"anodized/controller/colour"
	"anodized/hal/unit"
	"anodized/profiles"
)

func init() { commands = append(commands, newColourCommand) }

func newColourCommand(e env) *cobra.Command {
	f := newColourFlags()
	command := &cobra.Command{
		Use:   "colour",
		Short: "what colour a voltage or thickness gives, and which volts give a colour",
		Long: "The colour of a film on a metal from volts or from its thickness, the volts of a wanted\n" +
			"colour, or a chart. Each colour comes with its tolerance in volts, and with the\n" +
			"provenance of the calibration behind it. A wanted colour counts as reachable where the\n" +
			"nearest film is within CIEDE2000 2; orders that look alike are all listed.",
		Example: `  anodized colour --volts "70 V"
  anodized colour --thickness "139 nm" --illuminant D50
  anodized colour --wanted "50, 59, -48" --json
  anodized colour --wanted "#3178b7" --metal niobium
  anodized colour --chart "0 V..110 V" --step "5 V" --end "0.15 mA/cm2" --plot chart.svg`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return runColour(e, f) },
	}
	f.register(command.Flags())
	return command
}

// The bounds of what is asked for: no film of one anodizing lies beyond them.
const (
	mostColourVolts     unit.Volts      = 500
	mostColourThickness unit.Nanometres = 1000
)

// A wanted colour is looked for over these volts, and counts as reachable up to
// this difference.
const (
	lastWantedVolts = unit.Volts(120)
	reachableDE00   = 2.0
	mostCandidates  = 5
)

func runColour(e env, f *colourFlags) error {
	if err := f.check(); err != nil {
		return badInput(err)
	}
	b, err := f.open(e)
	if err != nil {
		return badInput(err)
	}
	switch {
	case f.wanted != "":
		return b.want(e, f)
	case f.chart != "":
		return b.chart(e, f)
	case f.thickness.Given:
		return b.one(e, f, b.scale.Volts(f.thickness.Value))
	}
	return b.one(e, f, f.volts.Value)
}

func (b *colourBasis) one(e env, f *colourFlags, volts unit.Volts) error {
	view := b.surface.At(b.scale, volts)
	if err := b.plot(f.plot, []colour.View{view}); err != nil {
		return err
	}
	if f.json {
		return printJSON(e.stdout, b.answer(view))
	}
	return b.printOne(e, view)
}

func (b *colourBasis) chart(e env, f *colourFlags) error {
	from, to, err := parseRange(f.chart)
	if err != nil {
		return badInput(err)
	}
	chart, err := b.surface.Chart(b.scale, from, to, f.step.Value)
	if err != nil {
		return badInput(err)
	}
	views := make([]colour.View, chart.Len())
	for row := range views {
		views[row] = chart.View(row)
	}
	if err := b.plot(f.plot, views); err != nil {
		return err
	}
	if f.json {
		return printJSON(e.stdout, b.chartAnswer(views))
	}
	return b.printChart(e, views)
}

func (b *colourBasis) want(e env, f *colourFlags) error {
	want, hex, err := b.parseWanted(f.wanted)
	if err != nil {
		return badInput(err)
	}
	chart, err := b.surface.Chart(b.scale, 0, lastWantedVolts, 0.1)
	if err != nil {
		return badInput(err)
	}
	found := chart.Best(want, mostCandidates)
	if err := b.plot(f.plot, b.byVolts(found)); err != nil {
		return err
	}
	if f.json {
		err = printJSON(e.stdout, b.wantedAnswer(want, hex, found))
	} else {
		err = b.printWanted(e, want, found)
	}
	if err == nil && found[0].DE00 > reachableDE00 {
		err = notRight(fmt.Errorf("the wanted colour is not reachable: the nearest, at %.1f V, is CIEDE2000 %.1f away, and at most %g counts",
			float64(found[0].Volts), found[0].DE00, reachableDE00))
	}
	return err
}

// colourBasis is what a colour is worked out from.
type colourBasis struct {
	metal       profiles.Metal
	calibration profiles.Calibration // as it was made
	end         unit.CurrentDensity  // that the scale is for
	film        profiles.Table
	substrate   profiles.Table
	light       profiles.Light
	angle       float64
	surface     *colour.Surface
	scale       colour.Scale
}

var errColourAsk = errors.New(`ask for one thing: --volts "70 V", --thickness "139 nm", --wanted "L,a,b" or "#rrggbb", or --chart "0 V..110 V"`)
