package commissioning

import (
	"context"
	"time"

	"anodized/controller/proof"
	"anodized/hal/unit"
)

// pollEvery is how often a switch is looked at while a person moves it.
const pollEvery = 50 * time.Millisecond

const (
	lidMove  = "lift the lid and close it when asked"
	stopMove = "press the emergency stop and release it when asked"
)

// proveLid watches the lid being lifted and closed.
func (p *proving) proveLid(ctx context.Context) error {
	ask := !p.options.NoLid && !p.lid.Done()
	if ask {
		p.callPerson("lift the lid now, within %.0f s")
		if err := p.await(ctx, p.lid.Open); err != nil {
			return err
		}
		if p.lid.Open() {
			p.Tell("open, both contacts seen; close the lid again")
			if err := p.await(ctx, p.lid.Done); err != nil {
				return err
			}
		}
	}
	p.report.Interlock = p.lid.Judge("lid switch", lidMove, ask)
	return nil
}

// callPerson asks a person, or the one of a virtual bench.
func (p *proving) callPerson(words string) {
	if p.NextRack != nil {
		p.Tell("the virtual person moves the lid")
		p.NextRack()
		return
	}
	p.Tell(words, p.options.Patience.Seconds())
}

// await looks until something was seen, or a person's time is over.
func (p *proving) await(ctx context.Context, seen func() bool) error {
	for end := p.Now().Add(p.options.Patience); p.Now().Before(end) && !seen(); {
		if err := p.Wait(ctx, pollEvery); err != nil {
			return err
		}
		_ = p.look(ctx) // counted; a switch that cannot be read is not seen to move
	}
	return nil
}

// proveStop watches the emergency stop being pressed and released.
func (p *proving) proveStop(ctx context.Context) error {
	if p.EmergencyStop == nil {
		return nil
	}
	ask := !p.options.NoStop && !p.stop.Done()
	if ask {
		p.callForStop()
		if err := p.await(ctx, p.stop.Open); err != nil {
			return err
		}
		if p.stop.Open() {
			p.Tell("pressed, both contacts seen; release it")
			if err := p.await(ctx, p.stop.Done); err != nil {
				return err
			}
		}
	}
	judged := p.stop.Judge("emergency stop", stopMove, ask)
	p.report.Stop = &judged
	return nil
}

func (p *proving) callForStop() {
	if p.Press != nil {
		p.Tell("the virtual person presses the emergency stop")
		p.Press()
		return
	}
	p.Tell("press the emergency stop now, within %.0f s", p.options.Patience.Seconds())
}

// The contactor is polled so often, so that its times mean something.
const (
	mirrorEvery = 10 * time.Millisecond
	closesIn    = time.Second
	dropsIn     = 1500 * time.Millisecond
	heldFor     = 500 * time.Millisecond
)

// proveContactor closes it by pulses with the output off, drops it, closes it again and
// lets the pulses end.
func (p *proving) proveContactor(ctx context.Context) error {
	if p.Contactor == nil {
		return nil
	}
	if why := p.unready(ctx); why != "" {
		p.report.Contactor = &proof.Contactor{ClosesMS: proof.Unknown(), DropMS: proof.Unknown(), LapseMS: proof.Unknown(),
			BoundMS: proof.Unknown(), Resolution: proof.Unknown(), Why: why}
		return nil
	}
	p.Tell("the contactor clicks twice now, with the output off")
	closes, err := p.pulse(ctx)
	if err != nil {
		return err
	}
	if err := p.Contactor.Halt(); err != nil {
		return err
	}
	drop, err := p.opens(ctx, dropsIn)
	if err != nil {
		return err
	}
	if _, err := p.pulse(ctx); err != nil {
		return err
	}
	oneShot := p.OneShot
	if oneShot <= 0 {
		oneShot = time.Second
	}
	lapse, err := p.opens(ctx, oneShot+dropsIn)
	if err != nil {
		return err
	}
	judged := proof.JudgeContactor(closes, drop, lapse, unit.Seconds(oneShot.Seconds()), unit.Seconds((tick / 2).Seconds()))
	p.report.Contactor = &judged
	return p.Contactor.Halt()
}

// unready says why the contactor may not be tried now, "" where it may.
func (p *proving) unready(ctx context.Context) string {
	closed, err := p.Contactor.Closed(ctx)
	switch {
	case p.look(ctx) != nil || !p.lid.Closed():
		return "not tried: the lid is not seen closed"
	case p.EmergencyStop != nil && !p.stop.Closed():
		return "not tried: the emergency stop is not seen released"
	case !p.off(ctx):
		return "not tried: the output is not read back as off"
	case err != nil:
		return "not tried: " + err.Error()
	case closed:
		return "not tried: its mirror contact is closed without pulses: welded, or the mirror line is wired the wrong way"
	}
	return ""
}

// pulse feeds the one-shot once a tick until the contactor is closed and some ticks
// longer, and returns after how long it closed; NaN where it did not.
func (p *proving) pulse(ctx context.Context) (unit.Seconds, error) {
	began, closedAt := p.Now(), time.Time{}
	for {
		if !p.off(ctx) {
			return never, p.Contactor.Halt()
		}
		if err := p.Contactor.Beat(); err != nil {
			return never, err
		}
		for range tick / mirrorEvery {
			if closed, err := p.Contactor.Closed(ctx); err == nil && closed && closedAt.IsZero() {
				closedAt = p.Now()
			}
			if err := p.Wait(ctx, mirrorEvery); err != nil {
				return never, err
			}
		}
		switch {
		case closedAt.IsZero() && p.Now().Sub(began) > closesIn:
			return never, nil
		case !closedAt.IsZero() && p.Now().Sub(closedAt) > heldFor:
			return unit.Seconds(closedAt.Sub(began).Seconds()), nil
		}
	}
}

// opens returns after how long the mirror contact was seen open; NaN where it was not.
func (p *proving) opens(ctx context.Context, within time.Duration) (unit.Seconds, error) {
	began := p.Now()
	for p.Now().Sub(began) <= within {
		if closed, err := p.Contactor.Closed(ctx); err == nil && !closed {
			return unit.Seconds(p.Now().Sub(began).Seconds()), nil
		}
		if err := p.Wait(ctx, mirrorEvery); err != nil {
			return never, err
		}
	}
	return never, nil
}
