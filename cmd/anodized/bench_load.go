package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"anodized/controller/commissioning"
	"anodized/controller/proof"
	"anodized/hal/unit"
	"anodized/profiles"
)

// consentWord is what a person types before the output goes on.
const consentWord = "energise"

// settleAlone is how long a virtual bench is left alone, so that its person comes again.
const settleAlone = 6 * time.Second

// tryLoad energises the resistor, where all else is proven and a person consents, and
// keeps the result.
func (r *proofRun) tryLoad(ctx context.Context, report *proof.Report) error {
	if err := r.mayTry(ctx, *report); err != nil {
		return errors.Join(r.print(*report), err)
	}
	if r.file != nil && report.Simulated {
		r.tell(true)("the virtual person fetches the resistor")
		if err := waitReally(ctx, settleAlone); err != nil {
			return notRight(err)
		}
	}
	b, closing, err := r.open(ctx)
	if err != nil {
		return err
	}
	if err := r.consent(ctx, b); err != nil {
		return errors.Join(err, closing())
	}
	test, err := b.TryLoad(ctx, commissioning.LoadOptions{Resistor: r.load, Meter: r.secondMeter(b), Abort: r.abort, Version: softwareVersion(), Log: r.log()})
	if err := errors.Join(err, closing()); err != nil {
		return cannot(err)
	}
	report.Load = &test
	if err := r.keep(&test, b.Simulated); err != nil {
		return cannot(err)
	}
	report.Conclude()
	return nil
}

// mayTry refuses to energise a bench that is not proven.
func (r *proofRun) mayTry(_ context.Context, report proof.Report) error {
	switch why := report.SetUp.Whys(proof.NothingRuns); {
	case len(why) > 0:
		return cannot(fmt.Errorf("not energised: %s", why[0]))
	case !report.OK:
		return notRight(errors.New("not energised: a resistor is tried on a bench that is proven otherwise; put right what is above, and leave --no-lid and --no-stop out"))
	case r.flags.yes && !report.Simulated:
		return badInput(errors.New("--yes is for a SIMULATED bench: a person at the bench types the consent; nothing was energised"))
	case !r.flags.yes && !report.Simulated && !r.person.present():
		return badInput(errors.New("a real output is energised from a terminal only, where a person types the consent; nothing was energised"))
	}
	return nil
}

// consent asks a person, and asks which meter is read.
func (r *proofRun) consent(ctx context.Context, b commissioning.Bench) error {
	can := b.Supply.Limits()
	wanted, err := r.load.Plan(proof.Supply{HighestVolts: can.HighestVolts, HighestAmperes: can.HighestAmperes, VoltStep: can.VoltStep, AmpereStep: can.AmpereStep})
	if err != nil {
		return badInput(err)
	}
	top := wanted.Points[len(wanted.Points)-1]
	tell := r.tell(b.Simulated)
	tell("this ENERGISES the output: %s on %v, at most %.3g A, %.3g W of the %g W that it may take", listed(wanted.Points), r.load.Ohms,
		float64(wanted.Limit), float64(top)*float64(top)/float64(r.load.Ohms), r.load.Watts)
	tell("no bath, no parts: the resistor alone, in the open, on what does not burn; it gets hot")
	if err := r.nameMeter(ctx, b); err != nil {
		return notRight(fmt.Errorf("not energised: %w", err))
	}
	if r.flags.yes {
		return nil
	}
	said, err := r.person.ask(ctx, fmt.Sprintf("type %s to go on, anything else to stop > ", consentWord))
	if err == nil && said != consentWord {
		err = errors.New("no consent")
	}
	if err != nil {
		return notRight(fmt.Errorf("not energised: %w", err))
	}
	return nil
}

func listed(points []unit.Volts) string {
	var words []string
	for _, v := range points {
		words = append(words, v.String())
	}
	return strings.Join(words, ", ")
}

// ownMeter is the name of the bench's independent voltmeter.
const ownMeter = "the bench's voltmeter"

func (r *proofRun) nameMeter(ctx context.Context, b commissioning.Bench) (err error) {
	switch {
	case r.flags.noMeter:
		r.load.Meter = ""
	case b.Voltmeter != nil && r.flags.meter == "":
		r.load.Meter = ownMeter
	case r.flags.meter != "":
		r.load.Meter = r.flags.meter
	default:
		if r.load.Meter, err = r.person.ask(ctx, "name of the second meter across the resistor, or an empty line for none > "); errors.Is(err, errNobody) && r.flags.yes {
			err = nil
		}
	}
	return err
}

// secondMeter reads the bench's voltmeter, or has the person read one.
func (r *proofRun) secondMeter(b commissioning.Bench) func(context.Context, unit.Volts) (unit.Volts, error) {
	switch r.load.Meter {
	case "":
		return nil
	case ownMeter:
		return func(ctx context.Context, _ unit.Volts) (unit.Volts, error) {
			v, _, err := b.Voltmeter.Voltage(ctx)
			return v, err
		}
	}
	return func(ctx context.Context, set unit.Volts) (unit.Volts, error) {
		for {
			text, err := r.person.ask(ctx, fmt.Sprintf("the output is at %v; what does %s show > ", set, r.load.Meter))
			if err != nil {
				return 0, err
			}
			v, err := unit.ParseWithin(text, 0, 1000*unit.Volts(1))
			if err == nil {
				return v, nil
			}
			fmt.Fprintf(r.env.stderr, "%v\n", err)
		}
	}
}

// keep writes the check into the bench file.
func (r *proofRun) keep(test *proof.LoadTest, simulated bool) error {
	if r.file == nil || len(test.Points) == 0 || test.Amperes == nil {
		return nil
	}
	check := test.Check(today(), simulated)
	err := profiles.Rewrite(r.flags.bench, func(file string, content []byte) ([]byte, error) { return profiles.Checked(file, content, check) })
	if err != nil {
		return fmt.Errorf("keep the check in the bench file: %w", err)
	}
	test.Stored = r.flags.bench
	return nil
}
