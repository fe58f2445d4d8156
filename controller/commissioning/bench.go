package commissioning

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"anodized/controller"
	"anodized/controller/proof"
	"anodized/hal"
	"anodized/hal/unit"
)

// Bench is the open devices of one bench and its clock.
type Bench struct {
	controller.Devices
	Name         string // the file, "" for the embedded bench
	SetUp        proof.SetUp
	FixedAmperes unit.Amperes // the limit is a knob and stands there; 0: it can be set

	Now      func() time.Time
	Wait     func(context.Context, time.Duration) error
	Pacer    controller.Pacer // of the energised test
	Clock    bool             // the clock is simulated and waits
	NextRack func()           // has the virtual person move the lid; nil where it does so by itself, or is real
	Press    func()           // has it press and release the emergency stop; nil likewise
	Tell     func(format string, values ...any)
}

// Options are what a person asked for.
type Options struct {
	Samples  int           // how often each device is read: 100
	NoLid    bool          // nobody moves the lid
	NoStop   bool          // nobody presses the emergency stop
	Patience time.Duration // for each move of a person: 60 s
}

func (o Options) withDefaults() Options {
	if o.Samples <= 0 {
		o.Samples = 100
	}
	if o.Patience <= 0 {
		o.Patience = time.Minute
	}
	return o
}

const tick = 100 * time.Millisecond

// proving is one proof under way.
type proving struct {
	Bench
	options Options
	limits  hal.Limits
	report  proof.Report
	lid     proof.Watcher
	stop    proof.Watcher
	volts   []unit.Volts // with the output off
	amperes []unit.Amperes
}

// Prove proves everything that can be proven with the output off. An error means that the
// supply or the lid switch cannot be talked to; all else stands in the report.
func (b Bench) Prove(ctx context.Context, o Options) (report proof.Report, err error) {
	p := &proving{Bench: b, options: o.withDefaults(), limits: b.Supply.Limits()}
	p.report = proof.Report{Bench: b.Name, Simulated: b.Simulated, SetUp: b.SetUp, NotProven: []string{}}
	id := b.Identity
	p.report.Supply = fmt.Sprintf("%s,%s,%s,%s", id.Maker, id.Model, id.Serial, id.Firmware)
	if err := p.putDown(); err != nil {
		return p.report, fmt.Errorf("switch off before anything else: %w", err)
	}
	for _, step := range []func(context.Context) error{p.survey, p.proveLimits, p.proveZero, p.proveLid, p.proveStop, p.proveContactor} {
		if err = step(ctx); err != nil {
			break
		}
	}
	if off := p.putDown(); off != nil && err == nil {
		err = fmt.Errorf("switch off at the end: %w", off)
	}
	p.report.Conclude()
	return p.report, err
}

// putDown drops the contactor, switches off and takes the limits to nothing; what fails of
// that keeps nothing else from being tried. Its context is its own: nothing that was
// cancelled may stop it.
func (p *proving) putDown() error {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	var dropped, amperes error
	if p.Contactor != nil {
		dropped = named("contactor", p.Contactor.Halt())
	}
	off := p.Supply.Halt(ctx)
	_, volts := p.Supply.SetVoltage(ctx, 0)
	if p.FixedAmperes <= 0 {
		_, amperes = p.Supply.SetCurrent(ctx, 0)
	}
	return errors.Join(dropped, named("supply", errors.Join(off, volts, amperes)))
}

// named says of which device an error is, nil for none.
func named(device string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", device, err)
}

// off asks whether the output is off; what cannot be read counts as on.
func (p *proving) off(ctx context.Context) bool {
	on, err := p.Supply.Energised(ctx)
	return err == nil && !on
}

// look reads lid and emergency stop.
func (p *proving) look(ctx context.Context) (err error) {
	channels, err := p.Interlock.Channels(ctx)
	if err != nil {
		p.lid.Fail()
	} else {
		p.lid.See(channels.Closed, p.seconds())
	}
	if p.EmergencyStop != nil {
		p.lookAtStop(ctx)
	}
	return err
}

func (p *proving) lookAtStop(ctx context.Context) {
	contacts, err := p.EmergencyStop.Contacts(ctx)
	if err != nil {
		p.stop.Fail()
		return
	}
	p.stop.See(contacts.Closed, p.seconds())
}

// seconds is the bench's clock.
func (p *proving) seconds() unit.Seconds {
	return unit.Seconds(p.Now().Sub(dayOne).Seconds())
}

// never is a time of something that was not seen.
var never = unit.Seconds(math.NaN())

var dayOne = time.Date(2000, time.January, 1, 0, 0, 0, 0, time.UTC)
