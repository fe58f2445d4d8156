package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/controller/report"
	"anodized/hal/unit"
	"anodized/profiles"
)

type colourFlags struct {
	metal, calibration, film, substrate string
	wanted, chart, illuminant           string
	journal                             string // that may keep the calibration
	plot, sheet                         string
	volts, step                         unit.Flag[unit.Volts]
	thickness                           unit.Flag[unit.Nanometres]
	end                                 unit.Flag[unit.CurrentDensity]
	angle                               float64
	spectrum, json                      bool
}

func newColourFlags() *colourFlags {
	return &colourFlags{step: unit.Flag[unit.Volts]{Value: 5}}
}

func (f *colourFlags) register(flags *pflag.FlagSet) {
	f.registerBasis(flags)
	flags.StringVar(&f.journal, "journal", "", "journal that keeps --calibration, if not the usual one")
	flags.Var(&f.volts, "volts", "the colour at some volts")
	flags.Var(&f.thickness, "thickness", "the colour of a film")
	flags.StringVar(&f.wanted, "wanted", "", `the volts of a colour: CIELAB "L,a,b" under the illuminant, "#rrggbb", or a name; not a patch of a photograph, which is no measurement`)
	flags.StringVar(&f.chart, "chart", "", `the colours over a range: "0 V..110 V"`)
	flags.Var(&f.step, "step", "step of --chart")
	flags.StringVar(&f.illuminant, "illuminant", "D65", "illuminant: "+strings.Join(profiles.IlluminantIDs(), ", "))
	flags.Float64Var(&f.angle, "angle", 0, "degrees from square to the surface, 0 to below 90")
	flags.StringVar(&f.plot, "plot", "", "draw the colours into FILE.svg or FILE.png")
	flags.StringVar(&f.sheet, "sheet", "", "draw the --chart as one A4 page for the wall, into FILE.svg, FILE.png or FILE.pdf")
	flags.BoolVar(&f.spectrum, "spectrum", false, "with the reflectance at each wavelength; of a --chart with --json only")
	flags.BoolVar(&f.json, "json", false, "print one JSON object")
}

// registerBasis registers what films and volts are reckoned by.
func (f *colourFlags) registerBasis(flags *pflag.FlagSet) {
	flags.StringVar(&f.metal, "metal", "", "metal: an embedded one by its id, a file, or - (default "+profiles.DefaultMetal+", or that of --calibration)")
	flags.StringVar(&f.film, "film", "", "optical table of the film, if not the calibration's")
	flags.StringVar(&f.substrate, "substrate", "", "optical table of the metal, if not the calibration's")
	flags.StringVar(&f.calibration, "calibration", "", "calibration: one that the journal keeps (ladder list) or an embedded one by its id, a file, or - (default the metal's book one)")
	flags.Var(&f.end, "end", "current density at the end of the hold, if not the calibration's")
}

// checkEnd refuses an end that no hold has.
func (f *colourFlags) checkEnd() error {
	if f.end.Given && f.end.Value <= 0 {
		return fmt.Errorf("--end is %s, it must be above 0 mA/cm2", unit.Format(f.end.Value))
	}
	return nil
}

// check looks at the flags alone.
func (f *colourFlags) check() error {
	asked := 0
	for _, given := range []bool{f.volts.Given, f.thickness.Given, f.wanted != "", f.chart != ""} {
		if given {
			asked++
		}
	}
	switch {
	case asked != 1:
		return errColourAsk
	case f.step.Given && f.chart == "":
		return errors.New("--step is of a --chart, and none is asked for")
	case f.volts.Value < 0 || f.volts.Value > mostColourVolts:
		return fmt.Errorf("--volts is %s, it is from 0 V to %s", unit.Format(f.volts.Value), unit.Format(mostColourVolts))
	case f.thickness.Value < 0 || f.thickness.Value > mostColourThickness:
		return fmt.Errorf("--thickness is %s, it is from 0 nm to %s", unit.Format(f.thickness.Value), unit.Format(mostColourThickness))
	case f.checkEnd() != nil:
		return f.checkEnd()
	case f.metal == "-" && f.calibration == "-":
		return errors.New("--metal and --calibration are both -: standard input holds one file")
	}
	return f.checkOutputs()
}

// checkOutputs looks at what is to be written.
func (f *colourFlags) checkOutputs() (err error) {
	switch {
	case f.sheet != "" && f.chart == "":
		return errors.New("--sheet is of a --chart, and none is asked for")
	case f.spectrum && (f.wanted != "" || f.chart != "" && !f.json):
		return errors.New("--spectrum goes with --volts, --thickness, or --chart with --json")
	}
	if f.plot != "" {
		_, err = report.FormatOf(f.plot)
	}
	if f.sheet != "" && err == nil {
		_, err = report.SheetFormatOf(f.sheet)
	}
	return err
}

// open opens everything that the flags name.
func (f *colourFlags) open(e env) (*colourBasis, error) {
	var b colourBasis
	if err := b.openCalibrated(f, e); err != nil {
		return nil, err
	}
	return &b, b.openTables(f)
}

// openTables opens what a calibration is looked at with.
func (b *colourBasis) openTables(f *colourFlags) error {
	for _, step := range []func() error{
		func() (err error) { b.film, err = profiles.OpticalConstants(or(f.film, b.calibration.Film)); return },
		func() (err error) {
			b.substrate, err = profiles.OpticalConstants(or(f.substrate, b.calibration.Substrate))
			return
		},
		func() (err error) { b.light, err = profiles.Illuminant(f.illuminant); return },
		func() error { return b.look(f.angle) },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	end := b.calibration.EndCurrentDensity
	if f.end.Given {
		end = f.end.Value
	}
	b.reckonFor(end)
	return nil
}

// reckonFor converts the volts to an end of the hold.
func (b *colourBasis) reckonFor(end unit.CurrentDensity) {
	b.end = end
	b.scale = colour.ScaleFor(b.calibration, film.OfBath(b.metal.Growth, b.calibration), end)
}

// openCalibrated opens metal and calibration, each of which may name the other.
func (b *colourBasis) openCalibrated(f *colourFlags, e env) (err error) {
	if f.calibration == "" {
		if b.metal, err = profiles.OpenMetal(or(f.metal, profiles.DefaultMetal), e.stdin); err == nil {
			b.calibration, err = profiles.OpenCalibration(b.metal.Book, nil)
		}
		return err
	}
	if b.calibration, err = keptOrFile(e, f.journal, f.calibration); err != nil {
		return err
	}
	own, err := profiles.OpenMetal(b.calibration.Metal, nil)
	if err != nil {
		return fmt.Errorf("calibration %q names its metal: %w", b.calibration.ID, err)
	}
	b.metal = own
	if f.metal == "" {
		return nil
	}
	if b.metal, err = profiles.OpenMetal(f.metal, e.stdin); err == nil && b.metal.ID != own.ID {
		err = fmt.Errorf("calibration %q is of %s, not of %s: take one of that metal, or leave --calibration out for its book one",
			b.calibration.ID, own.ID, b.metal.ID)
	}
	return err
}

func (b *colourBasis) look(angle float64) error {
	daylight, err := profiles.Illuminant("D65")
	if err != nil {
		return err
	}
	b.looked = colour.Options{AngleDegrees: angle, Daylight: &daylight}
	if b.film.ID == b.calibration.Film { // a calibration's scale of the index is that of its own table
		b.looked.IndexScale = b.calibration.Index()
	}
	b.surface, err = colour.NewSurface(b.film, b.substrate, profiles.Observer(), b.light, b.looked)
	return err
}

// parseRange reads "0 V..110 V".
func parseRange(text string) (from, to unit.Volts, err error) {
	low, high, found := strings.Cut(text, "..")
	if !found || strings.HasPrefix(high, ".") {
		return 0, 0, fmt.Errorf(`--chart is %q: write two voltages with .. between, as in "0 V..110 V"`, text)
	}
	if from, err = unit.Parse[unit.Volts](strings.TrimSpace(low)); err != nil {
		return 0, 0, fmt.Errorf("--chart starts at: %w", err)
	}
	if to, err = unit.Parse[unit.Volts](strings.TrimSpace(high)); err != nil {
		return 0, 0, fmt.Errorf("--chart ends at: %w", err)
	}
	if from < 0 || to < from || to > mostColourVolts {
		return 0, 0, fmt.Errorf("--chart is %q: it rises, from 0 V on, to %s at most", text, unit.Format(mostColourVolts))
	}
	return from, to, nil
}

// parseWanted reads a wanted colour as CIELAB or as a screen's; hex is "" where it is
// CIELAB.
func (b *colourBasis) parseWanted(text string) (want colour.Lab, hex string, err error) {
	if strings.HasPrefix(text, "#") {
		screen, err := colour.ParseHex(text)
		if err != nil {
			return want, "", fmt.Errorf("--wanted: %w", err)
		}
		return b.surface.FromScreen(screen), screen.Hex(), nil
	}
	if want, err = labOf(text); err != nil {
		return want, "", fmt.Errorf(`--wanted is %q: %w: write CIELAB as "L,a,b", L from 0 to 100, a and b from -150 to 150, or a screen's colour as "#rrggbb"`, text, err)
	}
	return want, "", nil
}

// labOf reads "L,a,b".
func labOf(text string) (colour.Lab, error) {
	parts := strings.Split(text, ",")
	var v [3]float64
	if len(parts) != len(v) {
		return colour.Lab{}, fmt.Errorf("%d numbers", len(parts))
	}
	for i := range parts {
		var err error
		if v[i], err = unit.ParseNumber(strings.TrimSpace(parts[i])); err != nil {
			return colour.Lab{}, err
		}
	}
	lab := colour.Lab{L: v[0], A: v[1], B: v[2]}
	if !(lab.L >= 0 && lab.L <= 100 && max(-lab.A, lab.A, -lab.B, lab.B) <= 150) {
		return colour.Lab{}, errors.New("out of range")
	}
	return lab, nil
}
