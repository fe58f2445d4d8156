package commissioning

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/proof"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// LoadOptions are what the test with a resistor needs.
type LoadOptions struct {
	Resistor proof.Resistor

	// Meter reads the second meter at one point; nil where there is none. It may wait for
	// a person. An error stops the test.
	Meter func(ctx context.Context, set unit.Volts) (unit.Volts, error)

	Abort   context.Context // ends the test without waiting for its orderly end; nil: never
	Version string
	Log     *slog.Logger
}

// TryLoad energises the output with a resistor on it, through a Station, and judges what
// was read. When it returns the output is off, or the error says that nobody knows. A ctx
// that is done stops the test.
func (b Bench) TryLoad(ctx context.Context, o LoadOptions) (proof.LoadTest, error) {
	can := b.supply()
	wanted, err := o.Resistor.Plan(can)
	if err != nil {
		return proof.LoadTest{}, err
	}
	meters := newMeters(o.Meter, wanted.Points, b.Clock)
	devices := b.Devices
	devices.Thermometer = nil // no bath
	notebook := &notebook{}
	station := controller.NewForResistor(devices, b.Pacer, notebook, o.Log, controller.Options{Tick: tick, Version: o.Version, ClockWaits: b.Clock},
		process.Resistor{Ohms: o.Resistor.Ohms, Read: meters.read})
	meters.stop = func(why error) { station.Stop(false, why.Error()) }
	result, err := b.follow(ctx, o, station, testPlan(o.Resistor, wanted))
	meters.end()
	points := pointsOf(notebook.taken(), wanted.Points, meters.values())
	test := o.Resistor.Judge(points, can, string(result.Outcome), because(result, notebook.taken(), o.Resistor))
	return test, err
}

func (b Bench) supply() proof.Supply {
	can := b.Supply.Limits()
	return proof.Supply{HighestVolts: can.HighestVolts, HighestAmperes: can.HighestAmperes, VoltStep: can.VoltStep, AmpereStep: can.AmpereStep}
}

// follow runs the Station until its result, and until it has switched off again.
func (b Bench) follow(ctx context.Context, o LoadOptions, station *controller.Station, p plan.Plan) (record.Result, error) {
	events, leave := station.Subscribe(1000)
	defer leave()
	if err := station.Start(controller.Request{Plan: p}); err != nil {
		return record.Result{}, err
	}
	apart, shutDown := context.WithCancel(context.WithoutCancel(ctx))
	defer shutDown()
	if o.Abort != nil {
		defer context.AfterFunc(o.Abort, shutDown)()
	}
	ended := make(chan error, 1)
	b.callForLoad() // before the clock runs: a simulated one does not wait for us
	go func() { ended <- station.Run(apart) }()
	result := b.listen(ctx, station, events)
	shutDown()
	return result, <-ended
}

func (b Bench) callForLoad() {
	if b.NextRack != nil {
		b.Tell("the virtual person hangs the resistor: lid open, lid closed")
		b.NextRack()
		return
	}
	b.Tell("hang the resistor on the output, then lift the lid and close it, within 3 minutes")
}

// listen passes on what is worth knowing until the result.
func (b Bench) listen(ctx context.Context, station *controller.Station, events <-chan controller.Event) record.Result {
	cancelled := ctx.Done()
	for {
		select {
		case <-cancelled:
			station.Stop(false, "the command was stopped")
			cancelled = nil
		case ev, open := <-events:
			switch {
			case !open:
				return record.Result{Outcome: record.Interrupted, Reasons: []string{"it was cut off"}}
			case ev.Kind == controller.KindResult:
				return *ev.Result
			case ev.Kind == controller.KindState && ev.State == process.ContactCheck.String():
				b.Tell("ENERGISED: keep away from the output; open the lid or press Ctrl-C to stop")
			case ev.Kind == controller.KindState && ev.State == process.Discharging.String():
				b.Tell("off; the output runs down")
			}
		}
	}
}

// The paces of the test.
const (
	testRamp     unit.VoltsPerSecond = 2
	checkVolts   unit.Volts          = 8
	leastHold    unit.Seconds        = 4
	longestHold  unit.Seconds        = 180 // for a person to read a meter and type it
	ceilingAbove unit.Volts          = 1
)

// testPlan is the test as a plan: each point a stage that is held until its meter is read.
func testPlan(r proof.Resistor, wanted proof.LoadPlan) plan.Plan {
	top := wanted.Points[len(wanted.Points)-1]
	check := min(checkVolts, wanted.Points[0])
	p := plan.Plan{ID: "dummy-load", Profile: "dummy load", Rack: r.Ohms.String(), Area: 1, TargetVolts: top,
		CeilingVolts: top + max(ceilingAbove, top/50), CurrentLimit: wanted.Limit, Ramp: testRamp, End: plan.End{Time: leastHold},
		ContactCheck: plan.ContactCheck{Volts: check, Ramp: testRamp / 2, NoContact: unit.Amperes(float64(check) / float64(r.Ohms) / 2), LongestCheck: 60},
		BathWindow:   plan.BathWindow{Law: 20, Least: -50, Most: 100}}
	for i, v := range wanted.Points {
		p.Stages = append(p.Stages, plan.Stage{Name: fmt.Sprintf("point %d", i+1), TargetVolts: v, Ramp: testRamp, CurrentLimit: wanted.Limit,
			LongestRamp: 2*unit.Seconds(float64(v)/float64(testRamp)) + 20,
			End:         plan.End{Sustained: 0.5, LeastHold: leastHold, LongestHold: longestHold}})
	}
	return p
}

// because says why the test did not come to its end, "" where it did.
func because(res record.Result, rows []record.Row, r proof.Resistor) string {
	switch {
	case res.Outcome == record.Complete:
		return ""
	case res.Trip != nil && (res.Trip.Code == fault.ContactLost || res.Trip.Code == fault.ShortCircuit || res.Trip.Code == fault.NoContact):
		v, a := lastEnergised(rows)
		return fmt.Sprintf("%.4g A at %.4g V are not those of %v: another resistor than was named, a loose lead, or a wrong scale", a, v, r.Ohms)
	case res.Trip != nil:
		return fmt.Sprintf("%s: %s %s", res.Trip.Code, res.Trip.Message, res.Trip.Action)
	case res.Outcome == record.TimeRanOut:
		return "the supply's own volts stay away from its setpoint, or the second meter was not read within 3 minutes"
	case len(res.Reasons) > 0:
		return fmt.Sprintf("%s: %s", res.Outcome, errors.Join(asErrors(res.Reasons)...))
	}
	return string(res.Outcome)
}

func asErrors(words []string) (list []error) {
	for _, w := range words {
		list = append(list, errors.New(w))
	}
	return list
}

func lastEnergised(rows []record.Row) (volts, amperes float64) {
	for i := len(rows) - 1; i >= 0; i-- {
		if process.State(rows[i].State).Energised() && !math.IsNaN(float64(rows[i].Volts)) {
			return float64(rows[i].Volts), float64(rows[i].Amperes)
		}
	}
	return math.NaN(), math.NaN()
}

// averaged is how many readings at the end of a hold make a point.
const averaged = 20

// pointsOf makes the points of the rows of each hold.
func pointsOf(rows []record.Row, set, metered []unit.Volts) (points []proof.Point) {
	for stage, v := range set {
		var held []record.Row
		for _, row := range rows {
			if process.State(row.State) == process.Holding && int(row.Stage) == stage && !math.IsNaN(float64(row.Volts)) {
				held = append(held, row)
			}
		}
		if len(held) < averaged {
			return points
		}
		point := proof.Point{Set: v, Metered: metered[stage]}
		for _, row := range held[len(held)-averaged:] {
			point.Volts += row.Volts / averaged
			point.Amperes += row.Amperes / averaged
		}
		points = append(points, point)
	}
	return points
}

// settled is how long a hold lasts before its meter is asked for.
const settled = 25 // ticks
