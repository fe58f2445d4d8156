package main

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"anodized/controller"
	"anodized/controller/commissioning"
	"anodized/controller/proof"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/profiles"
)

// open opens the bench that is to be proven.
func (r *proofRun) open(ctx context.Context) (commissioning.Bench, func() error, error) {
	if r.file == nil {
		return r.openEmbedded(ctx)
	}
	opened, err := openBench(ctx, *r.file, r.log())
	if err != nil {
		return commissioning.Bench{}, nil, err
	}
	b := commissioning.Bench{Devices: opened.devices, Name: r.flags.bench, SetUp: proof.Permit(*r.file), FixedAmperes: fixedLimit(*r.file),
		Now: time.Now, Wait: waitReally, Pacer: opened.pacer, Tell: r.tell(opened.devices.Simulated)}
	return b, opened.close, nil
}

// fixedLimit is where a current limit that is a knob stands.
func fixedLimit(file profiles.Bench) unit.Amperes {
	if file.Supply.Analog == nil {
		return 0
	}
	return file.Supply.Analog.FixedLimit
}

func (r *proofRun) log() *slog.Logger {
	if !r.flags.verbose {
		return slog.New(slog.DiscardHandler)
	}
	return slog.New(slog.NewTextHandler(r.env.stderr, &slog.HandlerOptions{Level: slog.LevelDebug}))
}

// tell shows what happens, and says SIMULATED where nothing of it is real.
func (r *proofRun) tell(simulated bool) func(string, ...any) {
	return func(format string, values ...any) {
		fmt.Fprintf(r.env.stderr, simulatedWord(simulated)+format+"\n", values...)
	}
}

func waitReally(ctx context.Context, d time.Duration) error {
	if d <= 0 {
		return ctx.Err()
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}

// openEmbedded is the virtual bench in memory: a contactor and an emergency stop too, a
// second meter, and the resistor where one is to be tried. Its clock runs as fast as it
// goes.
func (r *proofRun) openEmbedded(ctx context.Context) (commissioning.Bench, func() error, error) {
	faults, err := parseFaults(r.flags.faults)
	if err != nil {
		return commissioning.Bench{}, nil, badInput(err)
	}
	v, err := virtual.New(virtual.Setup{Seed: r.flags.seed, Faults: faults, Parts: []virtual.Part{{Area: 25, Count: 8}}, Dummy: r.flags.load.Value,
		HighestVolts: r.virtual.HighestVoltage, HighestAmperes: r.virtual.HighestCurrent,
		PersonWaits: true, Voltmeter: true, Chain: true, Version: softwareVersion()})
	if none := noFault(err); none != nil {
		return commissioning.Bench{}, nil, badInput(none)
	}
	if err != nil {
		return commissioning.Bench{}, nil, badInput(fmt.Errorf("set up the embedded bench: %w", err))
	}
	identity, err := v.Supply().Identify(ctx)
	if err != nil {
		return commissioning.Bench{}, nil, cannot(err)
	}
	fitted := profiles.Bench{Contactor: &profiles.ContactorEntry{}, Voltmeter: &profiles.VoltmeterEntry{}}
	b := commissioning.Bench{Name: r.flags.bench, SetUp: proof.Permit(fitted), Now: v.Now, Pacer: v, Clock: true, NextRack: v.NextRack, Tell: r.tell(true),
		Press: func() {
			if err := v.Inject(virtual.Fault{ID: "emergency-stop"}); err != nil {
				r.tell(true)("%v", err)
			}
		},
		Devices: controller.Devices{Supply: v.Supply(), Interlock: v.Interlock(), Thermometer: v.Thermometer(), Voltmeter: v.Voltmeter(), ColourSensor: v.ColourSensor(),
			Contactor: v.Contactor(), EmergencyStop: v.EmergencyStop(), OneShot: time.Second,
			Simulated: true, Identity: identity},
		Wait: func(ctx context.Context, d time.Duration) error {
			v.AdvanceTo(v.Now().Add(max(d, 0)).Sub(virtual.Epoch))
			return ctx.Err()
		}}
	return b, func() error { return nil }, nil
}
