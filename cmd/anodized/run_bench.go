package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"anodized/controller"
	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/controller/rack"
	benches "anodized/hal/bench"
	"anodized/hal/virtual"
	"anodized/hal/virtual/plant"
	"anodized/profiles"
)

// bench is the bench that a load runs on, open.
type bench struct {
	devices    controller.Devices
	pacer      controller.Pacer
	clockWaits bool   // simulated time
	pace       string // "" in real time, else how the simulated time runs
	close      func() error
}

// standIn opens the bench and makes the plan again with what it says it can do.
func (j *job) standIn(ctx context.Context, log *slog.Logger) (bench, error) {
	b, err := j.open(ctx, log)
	if err != nil {
		return bench{}, err
	}
	if err := j.narrow(b); err != nil {
		return bench{}, unlessSaid(err, b.close())
	}
	return b, nil
}

func (j *job) open(ctx context.Context, log *slog.Logger) (bench, error) {
	if j.frozen.Bench == nil {
		return j.embedded()
	}
	return openForLoads(ctx, *j.frozen.Bench, log)
}

// openBench opens what a bench file names.
func openBench(ctx context.Context, file profiles.Bench, log *slog.Logger) (bench, error) {
	set, err := benches.Open(ctx, file, log)
	if errors.Is(err, benches.ErrFile) {
		return bench{}, badInput(err)
	}
	if err != nil {
		return bench{}, cannot(fmt.Errorf("open the bench: %w", err))
	}
	ticker, err := controller.NewTicker(tickPeriod)
	if err != nil {
		return bench{}, cannot(errors.Join(err, set.Close()))
	}
	return bench{pacer: ticker, close: set.Close, devices: controller.Devices{Supply: set.Supply, Interlock: set.Interlock,
		Thermometer: set.Thermometer, Contactor: set.Contactor, OneShot: set.OneShot, EmergencyStop: set.EmergencyStop, Ventilation: set.Ventilation, Beacon: set.Beacon,
		Voltmeter: set.Voltmeter, MeterSettle: set.MeterSettle, ColourSensor: set.ColourSensor,
		Simulated: set.Simulated, Identity: set.Identity}}, nil
}

// narrow plans within what the open supply says that it can do.
func (j *job) narrow(b bench) error {
	b.limit(&j.request)
	return j.build()
}

// limit tells a request what the open bench can do.
func (b bench) limit(request *plan.Request) {
	request.Supply = limitsOf(b.devices.Supply)
	request.Simulated = b.devices.Simulated
}

// embedded is the virtual bench in memory, with the parts of the rack in its bath.
func (j *job) embedded() (bench, error) {
	setup, err := j.setup()
	if err != nil {
		return bench{}, badInput(err)
	}
	v, err := virtual.New(setup)
	if none := noFault(err); none != nil {
		return bench{}, badInput(none)
	}
	if err != nil {
		return bench{}, badInput(fmt.Errorf("set up the embedded bench: %w", err))
	}
	identity, err := v.Supply().Identify(context.Background())
	if err != nil {
		return bench{}, cannot(err)
	}
	return bench{pacer: v, clockWaits: true, pace: pace(j.flags.speed), close: func() error { return nil },
		devices: controller.Devices{Supply: v.Supply(), Interlock: v.Interlock(), Thermometer: v.Thermometer(),
			Simulated: true, Identity: identity}}, nil
}

func pace(speed float64) string {
	if speed == 0 {
		return "simulated time, running fast"
	}
	return fmt.Sprintf("simulated time, %g times real time", speed)
}

// setup hangs the rack into the embedded bench. The wires are a part too. The
// plant is never quite what the controller assumes: its film takes the charge less
// well, and its bath conducts a little better than the file of the bath says.
func (j *job) setup() (virtual.Setup, error) {
	area, err := rack.Area(j.frozen.Rack, j.frozen.Metal.Density)
	if err != nil {
		return virtual.Setup{}, err
	}
	formed := j.frozen.Rack.FormedTo
	setup := virtual.Setup{Seed: j.flags.seed, Faults: j.faults, Tick: tickPeriod, Speed: j.flags.speed, Version: softwareVersion(),
		PersonWaits: j.personWaits, HighestVolts: j.frozen.Virtual.HighestVoltage, HighestAmperes: j.frozen.Virtual.HighestCurrent}
	for _, part := range area.Parts {
		setup.Parts = append(setup.Parts, virtual.Part{Area: part.Each, Count: part.Count, Formed: formed})
	}
	if area.Fixture > 0 {
		setup.Parts = append(setup.Parts, virtual.Part{Area: area.Fixture, Count: 1, Formed: formed})
	}
	for _, coloured := range j.frozen.Rack.Coloured {
		setup.Parts = append(setup.Parts, virtual.Part{Area: coloured.Area, Count: 1, Formed: coloured.FormedTo})
	}
	parameters := plant.Default()
	parameters.Film = j.filmOf()
	parameters.Cell.BathOhms = bathShare * float64(j.frozen.Bath.Series) * seriesArea / float64(area.Total)
	parameters.Bath.Celsius, parameters.Bath.Room = float64(j.frozen.Bath.Temperature), float64(j.frozen.Bath.Temperature)
	if j.frozen.Bath.Litres > 0 {
		parameters.Bath.Litres = float64(j.frozen.Bath.Litres)
	}
	setup.Parameters = &parameters
	return setup, nil
}

// bathShare of the series resistance of a bath's file is what the embedded bench
// has, for the wetted area that the file gives it for.
const (
	bathShare  = 0.9
	seriesArea = 200 // cm²
)

// filmOf is how the oxide of the metal grows in the embedded bench.
func (j *job) filmOf() plant.Film {
	metal := j.frozen.Metal
	switch {
	case metal.ID == "niobium":
		return plant.Niobium()
	case metal.ID == "tantalum":
		return plant.Tantalum()
	case strings.HasPrefix(metal.ID, "titanium"):
		return plant.Titanium()
	}
	law, own := film.FromGrowth(metal.Growth), plant.Titanium()
	own.I0, own.B, own.KF, own.Native = law.I0, law.B, law.KF, float64(metal.NativeFilm)
	return own
}

// held is a simulated clock that runs in real time while a person is asked
// something, so that there is a minute to answer in.
type held struct {
	controller.Pacer
	asked func() bool
}

// Next is the next simulated tick.
func (h *held) Next(ctx context.Context) (time.Time, error) {
	if !h.asked() {
		return h.Pacer.Next(ctx)
	}
	due := time.NewTimer(tickPeriod)
	defer due.Stop()
	select {
	case <-due.C:
	case <-ctx.Done():
		return time.Time{}, ctx.Err()
	}
	return h.Pacer.Next(ctx)
}
