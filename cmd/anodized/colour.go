package main

import (
	"errors"

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
			"nearest film is within CIEDE2000 2. Each film that comes near is told with what looks\n" +
			"like it in other orders, what becomes of it when it is tilted and under other lamps, and\n" +
			"where near it the volts matter least; and where none comes near, why.\n\n" +
			"A wanted colour is a reading (CIELAB), a screen's colour or a name. A patch of a\n" +
			"photograph is not a measurement: camera, lamp and screen each change it, by more than\n" +
			"one order differs from the next. Read a part with an instrument.",
		Example: `  anodized colour --volts "70 V"
  anodized colour --thickness "139 nm" --illuminant D50
  anodized colour --wanted "50, 59, -48" --json
  anodized colour --wanted "#3178b7" --metal niobium
  anodized colour --wanted purple
  anodized colour --chart "0 V..110 V" --step "0.5 V" --calibration ladder-2026-03-02 --sheet chart.pdf
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

// lastWantedVolts is how far a wanted colour is looked for.
const lastWantedVolts = unit.Volts(120)

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
	answer := b.answer(view, f.spectrum)
	if f.json {
		return printJSON(e.stdout, answer)
	}
	return b.printOne(e, view, answer.Spectrum)
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
	if err := b.sheet(f.sheet, views); err != nil {
		return err
	}
	if f.json {
		return printJSON(e.stdout, b.chartAnswer(views, f.spectrum))
	}
	return b.printChart(e, views)
}

// colourBasis is what a colour is worked out from.
type colourBasis struct {
	metal       profiles.Metal
	calibration profiles.Calibration // as it was made
	end         unit.CurrentDensity  // that the scale is for
	film        profiles.Table
	substrate   profiles.Table
	light       profiles.Light
	looked      colour.Options
	surface     *colour.Surface
	scale       colour.Scale
}

var errColourAsk = errors.New(`ask for one thing: --volts "70 V", --thickness "139 nm", --wanted "L,a,b" or "#rrggbb", or --chart "0 V..110 V"`)
