package commissioning

import (
	"context"
	"errors"
	"math"

	"anodized/controller/proof"
	"anodized/hal"
	"anodized/hal/unit"
)

// proveLimits writes limits with the output off and asks separately what is held. A
// driver that finds a difference says so itself; its word counts first.
func (p *proving) proveLimits(ctx context.Context) error {
	p.Tell("writing limits with the output off, and reading them back")
	for _, v := range proof.Points(float64(p.limits.LeastVolts), float64(p.limits.HighestVolts), float64(p.limits.VoltStep)) {
		if err := p.tryVolts(ctx, unit.Volts(v)); err != nil {
			return err
		}
	}
	if err := p.tryVolts(ctx, p.limits.LeastVolts); err != nil {
		return err
	}
	for _, a := range p.currents() {
		if err := p.tryAmperes(ctx, unit.Amperes(a)); err != nil {
			return err
		}
	}
	if err := p.proveTrip(ctx); err != nil {
		return err
	}
	return p.proveLostHost(ctx)
}

func (p *proving) tryVolts(ctx context.Context, v unit.Volts) error {
	_, failed := p.Supply.SetVoltage(ctx, v)
	held, err := p.Supply.Check(ctx)
	if err != nil {
		held.SetVolts = unit.Volts(math.NaN())
	}
	p.report.Limits = append(p.report.Limits, proof.JudgeVolts(v, held.SetVolts, p.limits.VoltStep, p.off(ctx), failed))
	return ctx.Err()
}

func (p *proving) tryAmperes(ctx context.Context, a unit.Amperes) error {
	_, failed := p.Supply.SetCurrent(ctx, a)
	held, err := p.Supply.Check(ctx)
	if err != nil {
		held.LimitAmperes = unit.Amperes(math.NaN())
	}
	p.report.Limits = append(p.report.Limits, proof.JudgeAmperes(a, held.LimitAmperes, p.limits.AmpereStep, p.off(ctx), failed))
	return ctx.Err()
}

// currents are the limits to write; a knob has one.
func (p *proving) currents() []float64 {
	if p.FixedAmperes > 0 {
		return []float64{float64(p.FixedAmperes)}
	}
	return append(proof.Points(float64(p.limits.LeastAmperes), float64(p.limits.HighestAmperes), float64(p.limits.AmpereStep)), float64(p.limits.LeastAmperes))
}

// proveTrip moves the supply's own over-voltage trip, and leaves it at the bench's highest
// voltage.
func (p *proving) proveTrip(ctx context.Context) error {
	protector, can := p.Supply.(hal.Protector)
	if !can {
		return nil
	}
	for _, v := range []unit.Volts{p.limits.HighestVolts / 2, p.limits.HighestVolts} {
		held, failed := protector.SetOvervoltage(ctx, v)
		p.report.Limits = append(p.report.Limits, proof.JudgeTrip(v, held, p.off(ctx), failed))
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	return nil
}

// proveLostHost arms the supply's own lost-host timer and takes it away again: left armed
// beside nobody it would trip the supply.
func (p *proving) proveLostHost(ctx context.Context) error {
	timer, can := p.Supply.(hal.LostHostTimer)
	if !can {
		return nil
	}
	after, failed := timer.ArmLostHost(ctx)
	failed = errors.Join(failed, timer.DisarmLostHost(ctx))
	p.report.Limits = append(p.report.Limits, proof.JudgeLostHost(unit.Seconds(after.Seconds()), p.off(ctx), failed))
	return ctx.Err()
}

// proveZero judges what the supply read while its output was off.
func (p *proving) proveZero(ctx context.Context) error {
	p.report.Zero = proof.JudgeZero(p.volts, p.amperes, proof.Supply{HighestVolts: p.limits.HighestVolts, HighestAmperes: p.limits.HighestAmperes,
		VoltStep: p.limits.VoltStep, AmpereStep: p.limits.AmpereStep}, p.off(ctx))
	return ctx.Err()
}
