package commissioning

import (
	"context"
	"fmt"
	"math"
	"time"

	"anodized/controller/proof"
	"anodized/hal"
)

// told is one reading as it is shown.
type told struct {
	text   string
	values map[string]proof.Number
	at     time.Time // zero: of this moment
}

// asked is a device that is read again and again.
type asked struct {
	name string
	read func(context.Context) (told, error)
	busy bool // its talk is part of every tick
	slow bool // it gives the latest reading of one who reads beside us

	ms     []float64
	failed int
	last   told
	why    error
}

// checkEvery ticks the supply is asked what it holds, as in a load.
const checkEvery = 10

// survey reads every device once a tick, as a load does, and writes a setpoint, which
// changes by one step with the output off.
func (p *proving) survey(ctx context.Context) error {
	p.Tell("reading every device %d times", p.options.Samples)
	devices := p.devices()
	var ticks []float64
	for n := range p.options.Samples {
		total := 0.0
		for _, d := range devices {
			if d.name == heldName && n%checkEvery != 0 {
				continue
			}
			took := d.ask(ctx)
			if d.busy {
				total += took
			}
		}
		ticks = append(ticks, total)
		if err := p.Wait(ctx, tick-time.Duration(total*float64(time.Millisecond))); err != nil {
			return err
		}
	}
	p.report.Link = proof.Carries(ticks)
	for _, d := range devices {
		p.report.Devices = append(p.report.Devices, d.shown(p.Now()))
		if d.failed == len(d.ms)+d.failed && d.busy {
			return fmt.Errorf("%s: %w", d.name, d.why)
		}
	}
	if p.Beacon != nil {
		p.report.Devices = append(p.report.Devices, proof.Device{Name: "beacon", Value: "fitted; it tells nothing back", Values: map[string]proof.Number{},
			AgeMS: proof.Unknown(), Latency: proof.Latency{Median: proof.Unknown(), P99: proof.Unknown(), Max: proof.Unknown()}, Jitter: proof.Unknown(), OK: true})
	}
	return nil
}

// ask reads once and returns the ms that it took.
func (d *asked) ask(ctx context.Context) float64 {
	began := time.Now()
	said, err := d.read(ctx)
	took := float64(time.Since(began)) / float64(time.Millisecond)
	if err != nil {
		d.failed, d.why = d.failed+1, err
		return took
	}
	if len(d.ms) == 0 && d.slow {
		d.failed, d.why = 0, nil // until its first reading it had nothing to give
	}
	d.ms, d.last = append(d.ms, took), said
	return took
}

func (d *asked) shown(now time.Time) proof.Device {
	latency, jitter := proof.Spread(d.ms)
	out := proof.Device{Name: d.name, Value: d.last.text, Values: d.last.values, AgeMS: proof.Unknown(), Latency: latency, Jitter: jitter,
		Reads: len(d.ms) + d.failed, Failed: d.failed, OK: d.failed == 0 && len(d.ms) > 0}
	if out.Values == nil {
		out.Values, out.Value = map[string]proof.Number{}, "no reading"
	}
	if !d.last.at.IsZero() {
		out.AgeMS = proof.Number(math.Max(0, float64(now.Sub(d.last.at))/float64(time.Millisecond)))
	}
	if d.why != nil {
		out.Why = fmt.Sprintf("%d of %d readings failed: %v", d.failed, out.Reads, d.why)
	}
	return out
}

const heldName = "supply holds"

// devices are what is read, in the order of a tick.
func (p *proving) devices() []*asked {
	all := []*asked{{name: "lid switch", busy: true, read: p.readLid}}
	if p.Contactor != nil {
		all = append([]*asked{{name: "contactor", busy: true, read: p.readMirror}}, all...)
	}
	if p.EmergencyStop != nil {
		all = append(all, &asked{name: "emergency stop", busy: true, read: p.readStop})
	}
	if p.Ventilation != nil {
		all = append(all, &asked{name: "ventilation", busy: true, read: p.readVentilation})
	}
	all = append(all, &asked{name: "supply", busy: true, read: p.readSupply},
		&asked{name: "supply set", busy: true, read: p.writeStep()},
		&asked{name: heldName, read: p.readHeld})
	if p.Thermometer != nil {
		all = append(all, &asked{name: "bath thermometer", slow: true, read: p.readBath})
	}
	if p.Voltmeter != nil {
		all = append(all, &asked{name: "voltmeter", slow: true, read: p.readVoltmeter})
	}
	if p.ColourSensor != nil {
		all = append(all, &asked{name: "colour sensor", slow: true, read: p.readColourSensor})
	}
	return all
}

// readColourSensor asks only whether it is there, where it can say that: it measures
// nothing before a person has laid its references under it.
func (p *proving) readColourSensor(ctx context.Context) (told, error) {
	if sensor, can := p.ColourSensor.(hal.Presence); can {
		return told{text: "there; its references are taken when it is used", values: map[string]proof.Number{"present": 1}}, sensor.Present(ctx)
	}
	s, err := p.ColourSensor.Measure(ctx)
	return told{fmt.Sprintf("%d bands", len(s.Nanometres)), map[string]proof.Number{"bands": proof.Number(len(s.Nanometres))}, s.At}, err
}

func (p *proving) readSupply(ctx context.Context) (told, error) {
	s, err := p.Supply.Measure(ctx)
	if err != nil {
		return told{}, err
	}
	p.volts, p.amperes = append(p.volts, s.Volts), append(p.amperes, s.Amperes)
	return told{fmt.Sprintf("%.3f V  %.4f A", float64(s.Volts), float64(s.Amperes)),
		map[string]proof.Number{"volts": proof.Number(s.Volts), "amperes": proof.Number(s.Amperes)}, s.At}, nil
}

// writeStep writes the least and one step more in turns.
func (p *proving) writeStep() func(context.Context) (told, error) {
	next := p.limits.LeastVolts
	return func(ctx context.Context) (told, error) {
		next = 2*p.limits.LeastVolts + p.limits.VoltStep - next
		held, err := p.Supply.SetVoltage(ctx, next)
		return told{text: fmt.Sprintf("%v, output off", held), values: map[string]proof.Number{"set_volts": proof.Number(held)}}, err
	}
}

func (p *proving) readHeld(ctx context.Context) (told, error) {
	s, err := p.Supply.Check(ctx)
	output := "off"
	if s.Output {
		output = "ON"
	}
	return told{text: fmt.Sprintf("%v  %v, output %s", s.SetVolts, s.LimitAmperes, output),
		values: map[string]proof.Number{"set_volts": proof.Number(s.SetVolts), "limit_amperes": proof.Number(s.LimitAmperes)}}, err
}

func contacts(closed [2]bool) string {
	word := map[bool]string{true: "closed", false: "open"}
	return word[closed[0]] + ", " + word[closed[1]]
}

func yes(is bool) proof.Number {
	if is {
		return 1
	}
	return 0
}

func (p *proving) readLid(ctx context.Context) (told, error) {
	c, err := p.Interlock.Channels(ctx)
	if err != nil {
		p.lid.Fail()
		return told{}, err
	}
	p.lid.See(c.Closed, p.seconds())
	return told{contacts(c.Closed), map[string]proof.Number{"closed_1": yes(c.Closed[0]), "closed_2": yes(c.Closed[1])}, c.At}, nil
}

func (p *proving) readStop(ctx context.Context) (told, error) {
	c, err := p.EmergencyStop.Contacts(ctx)
	if err != nil {
		p.stop.Fail()
		return told{}, err
	}
	p.stop.See(c.Closed, p.seconds())
	return told{contacts(c.Closed), map[string]proof.Number{"closed_1": yes(c.Closed[0]), "closed_2": yes(c.Closed[1])}, c.At}, nil
}

func (p *proving) readVentilation(ctx context.Context) (told, error) {
	proven, at, err := p.Ventilation.Airflow(ctx)
	return told{map[bool]string{true: "air moves", false: "not proven"}[proven], map[string]proof.Number{"proven": yes(proven)}, at}, err
}

func (p *proving) readMirror(ctx context.Context) (told, error) {
	closed, err := p.Contactor.Closed(ctx)
	return told{text: map[bool]string{true: "closed", false: "open"}[closed], values: map[string]proof.Number{"closed": yes(closed)}}, err
}

func (p *proving) readBath(ctx context.Context) (told, error) {
	c, at, err := p.Thermometer.Temperature(ctx)
	return told{fmt.Sprintf("%.1f °C", float64(c)), map[string]proof.Number{"celsius": proof.Number(c)}, at}, err
}

func (p *proving) readVoltmeter(ctx context.Context) (told, error) {
	v, at, err := p.Voltmeter.Voltage(ctx)
	return told{fmt.Sprintf("%.3f V", float64(v)), map[string]proof.Number{"volts": proof.Number(v)}, at}, err
}
