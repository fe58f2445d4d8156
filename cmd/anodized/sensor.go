package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"

	"github.com/spf13/cobra"

	"anodized/controller/bands"
	"anodized/hal"
	benches "anodized/hal/bench"
	"anodized/hal/spectral"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/profiles"
)

func init() { commands = append(commands, newSensorCommand) }

type sensorFlags struct {
	bench        string
	formed       unit.Flag[unit.Volts]
	run, journal string // that the part is of; "" for none
	about        readFlags
	json         bool
}

func newSensorCommand(e env) *cobra.Command {
	f := sensorFlags{formed: unit.Flag[unit.Volts]{Value: 70}}
	command := &cobra.Command{
		Use:   "sensor",
		Short: "read a part with the colour sensor of a bench",
		Long: "Takes the dark and the white reference, which it asks you to lay under the sensor, then reads a\n" +
			"part: what each band gives back, and the colour that a matrix makes of it, with its stated error.\n" +
			"A sensor of a few bands tells a load from its master; it does not replace an instrument. It\n" +
			"touches nothing but the sensor. Without --bench it is the virtual bench's: SIMULATED.\n\n" +
			"With --run the reading is attached to that run, with its stated error, as runs read attaches\n" +
			"those of an instrument, and the match is said; steps are reckoned by that error then.",
		Example: `  anodized sensor
  anodized sensor --formed-to "30 V" --json
  anodized sensor --bench bench.yaml
  anodized sensor --bench bench.yaml --run last --part "seat clamp" --by Ida`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			if f.bench != "" && command.Flags().Changed("formed-to") {
				return badInput(errors.New("--formed-to is of the part under the virtual sensor: leave it out with --bench"))
			}
			if err := f.checkRun(command.Flags()); err != nil {
				return badInput(err)
			}
			return readSensor(command.Context(), e, &f)
		},
	}
	flags := command.Flags()
	flags.StringVar(&f.bench, "bench", "", "bench file with a colour sensor; without it the virtual one")
	flags.Var(&f.formed, "formed-to", "virtual sensor: volts that the part was formed to")
	f.registerRun(flags)
	flags.BoolVar(&f.json, "json", false, "print one JSON object")
	return command
}

// reading is one measurement of a part.
type reading struct {
	Simulated  bool        `json:"simulated"`
	Bands      []band      `json:"bands"`
	XYZ        [3]float64  `json:"XYZ"`
	Lab        [3]float64  `json:"Lab"`
	Hex        string      `json:"hex"`
	Name       string      `json:"name"`
	Illuminant string      `json:"illuminant"`
	Observer   string      `json:"observer"`
	Error      bands.Error `json:"stated_error"`
}

type band struct {
	Nanometres  float64 `json:"nm"`
	Reflectance float64 `json:"reflectance"`
}

// underSensor is a sensor, and the hands that lay things under it.
type underSensor struct {
	sensor     hal.ColourSensor
	instrument string
	simulated  bool
	lay        func(what string) error
	close      func() error
}

func readSensor(ctx context.Context, e env, f *sensorFlags) (err error) {
	of, err := f.openRun(e)
	if err != nil {
		return err
	}
	u, err := openSensor(ctx, e, f)
	if err != nil {
		return err
	}
	defer func() {
		if shut := u.close(); err == nil && shut != nil {
			err = cannot(shut)
		}
	}()
	spectrum, err := u.measure(ctx)
	if err != nil {
		return cannot(err)
	}
	r, err := readingOf(spectrum)
	if err != nil {
		return err
	}
	r.Simulated = u.simulated
	attached, err := f.attach(e, of, u.instrument, r)
	if err != nil {
		return err
	}
	if f.json {
		return printJSON(e.stdout, sensed{r, attached})
	}
	return errors.Join(printReading(e.stdout, r), attached.print(e.stdout))
}

func openSensor(ctx context.Context, e env, f *sensorFlags) (underSensor, error) {
	if f.bench == "" {
		return virtualSensor(f.formed.Value) // openRun took the volts of a run
	}
	file, err := profiles.OpenBench(f.bench, nil)
	if err != nil {
		return underSensor{}, badInput(err)
	}
	if file.ColourSensor == nil {
		return underSensor{}, badInput(fmt.Errorf("%s has no colour sensor: give it an entry, or leave out --bench for the virtual one", f.bench))
	}
	sensor, closer, err := benches.OpenColourSensor(ctx, *file.ColourSensor, slog.New(slog.DiscardHandler))
	if err != nil {
		return underSensor{}, cannot(err)
	}
	person := newPerson(e)
	lay := func(what string) error {
		_, err := person.ask(ctx, what+", then press Enter: ")
		return err
	}
	return underSensor{sensor: sensor, instrument: file.ColourSensor.Driver + " colour sensor", lay: lay, close: closer.Close}, nil
}

// virtualSensor has a part of the virtual bench under it, formed to these volts.
func virtualSensor(formed unit.Volts) (underSensor, error) {
	if !(formed >= 0 && formed <= 200) {
		return underSensor{}, badInput(fmt.Errorf("--formed-to %v: 0 V to 200 V is allowed", formed))
	}
	v, err := virtual.New(virtual.Setup{Parts: []virtual.Part{{Area: 25, Count: 1, Formed: formed}}})
	if err != nil {
		return underSensor{}, badInput(fmt.Errorf("--formed-to: %w", err))
	}
	sensor := v.ColourSensor()
	if err := sensor.LayPart(0); err != nil {
		return underSensor{}, cannot(err)
	}
	return underSensor{sensor: sensor, instrument: "SIMULATED colour sensor", simulated: true, lay: func(string) error { return nil }, close: func() error { return nil }}, nil
}

// measure takes the references where the sensor wants them, then reads the part.
func (u underSensor) measure(ctx context.Context) (hal.Spectrum, error) {
	if r, wants := u.sensor.(hal.Referenced); wants {
		for _, step := range []struct {
			what string
			take func(context.Context) error
		}{
			{"Leave nothing under the sensor, over a dark hollow", r.TakeDark},
			{"Lay the white reference under the sensor", r.TakeWhite},
		} {
			if err := u.lay(step.what); err != nil {
				return hal.Spectrum{}, err
			}
			if err := step.take(ctx); err != nil {
				return hal.Spectrum{}, err
			}
		}
	}
	if err := u.lay("Lay the part under the sensor"); err != nil {
		return hal.Spectrum{}, err
	}
	return u.sensor.Measure(ctx)
}

// readingOf makes a colour of what the bands gave back.
func readingOf(s hal.Spectrum) (reading, error) {
	r := reading{Illuminant: "D65", Observer: observerName}
	var of []bands.Band
	for i, nm := range s.Nanometres {
		r.Bands = append(r.Bands, band{float64(nm), s.Reflectance[i]})
		for _, known := range spectral.Bands {
			if known.Middle == nm {
				of = append(of, bands.Band(known))
			}
		}
	}
	if len(of) != len(s.Nanometres) {
		return r, cannot(fmt.Errorf("the sensor has %d bands, and the widths of %d are known", len(s.Nanometres), len(of)))
	}
	matrix, err := bands.ForShop(of)
	if err != nil {
		return r, cannot(err)
	}
	xyz, lab := matrix.XYZ(s.Reflectance), matrix.Lab(s.Reflectance)
	r.XYZ, r.Lab, r.Hex, r.Name, r.Error = xyz.Array(), lab.Array(), xyz.Screen().Hex(), lab.LCh().Name(), matrix.Error
	return r, nil
}

func printReading(w io.Writer, r reading) error {
	t := newTable(w)
	if r.Simulated {
		t.row("SIMULATED")
	}
	for _, b := range r.Bands {
		t.row("%.0f nm\t%.1f %%", b.Nanometres, 100*b.Reflectance)
	}
	t.row("Lab\t%.1f %.1f %.1f\t%s %s, %s, %s", r.Lab[0], r.Lab[1], r.Lab[2], r.Name, r.Hex, r.Illuminant, r.Observer)
	t.row("stated error\tdE00 %.1f\tin the middle, %.1f at the 95th percentile, of films that the fit had not seen; without gloss, angle and bands that are elsewhere", r.Error.Median, r.Error.P95)
	return t.done()
}
