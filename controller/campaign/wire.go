package campaign

import (
	"context"
	"math"

	"anodized/hal"
	"anodized/hal/unit"
)

// wire stands between the Station and the supply. It hears each word in both directions
// and judges those that must never be said, whatever was injected. In a run of disorder
// it also says what no supply would say.
type wire struct {
	supply interface {
		hal.Supply
		hal.Protector
	}
	audit *auditor
	chaos *chaos // nil: every answer passes as it is
}

func (w *wire) Limits() hal.Limits { return w.supply.Limits() }

func (w *wire) Identify(ctx context.Context) (hal.Identity, error) { return w.supply.Identify(ctx) }

func (w *wire) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	w.audit.asked(float64(v), float64(w.audit.report.Plan.CeilingVolts), voltsBelow, "V")
	return w.supply.SetVoltage(ctx, v)
}

func (w *wire) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	most := float64(w.audit.report.Plan.CurrentLimit)
	w.audit.asked(float64(a), most, limitBelow, "A")
	held, err := w.supply.SetCurrent(ctx, a)
	if err == nil && float64(held) > most+float64(w.Limits().AmpereStep)/2 {
		w.audit.report.violate(limitBelow, "%.4f A accepted, %.4f A planned", float64(held), most)
	}
	return held, err
}

func (w *wire) SetOvervoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	w.audit.asked(float64(v), math.Inf(1), finite, "V")
	return w.supply.SetOvervoltage(ctx, v)
}

func (w *wire) Energise(ctx context.Context) error {
	w.audit.energise()
	err := w.supply.Energise(ctx)
	w.audit.told = saysOn
	if err != nil {
		w.audit.told = saysNothing
	}
	return err
}

func (w *wire) Halt(ctx context.Context) error {
	err := w.supply.Halt(ctx)
	w.audit.halt(err == nil)
	return err
}

func (w *wire) Energised(ctx context.Context) (bool, error) {
	on, err := w.supply.Energised(ctx)
	if err == nil {
		w.audit.told = says(on)
	}
	return on, err
}

func (w *wire) Measure(ctx context.Context) (hal.Sample, error) {
	sample, err := w.supply.Measure(ctx)
	if w.chaos != nil {
		sample, err = w.chaos.sample(sample, err)
	}
	w.audit.measured(sample, err)
	return sample, err
}

func (w *wire) Check(ctx context.Context) (hal.State, error) {
	state, err := w.supply.Check(ctx)
	if w.chaos != nil {
		state, err = w.chaos.state(state, err)
	}
	if err == nil {
		w.audit.told = says(state.Output)
	}
	return state, err
}

// telling is what the supply last told of its output.
type telling uint8

const (
	saysNothing telling = iota
	saysOff
	saysOn
)

func says(on bool) telling {
	if on {
		return saysOn
	}
	return saysOff
}
