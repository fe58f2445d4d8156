package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
	"anodized/profiles"
)

// setup hangs the rack into the bath, as in the embedded bench of run.
func (f *virtualBenchFlags) setup(e env) (setup virtual.Setup, rackName string, err error) {
	j := job{flags: runFlags{seed: f.seed}}
	for _, open := range []func() error{
		func() (err error) { j.faults, err = parseFaults(f.faults); return },
		func() (err error) { j.frozen.Rack, err = openRack(f.rack, e.stdin); return },
		func() (err error) { j.frozen.Metal, err = profiles.OpenMetal(f.metal, nil); return },
		func() (err error) { j.frozen.Bath, err = profiles.OpenBath(f.bath, nil); return },
		func() (err error) { setup, err = j.setup(); return },
		f.lostHostDelay,
		func() error { return supplyRatings(f.volts.Value, f.amperes.Value) },
	} {
		if err := open(); err != nil {
			return setup, "", err
		}
	}
	setup.HighestVolts, setup.HighestAmperes = f.volts.Value, f.amperes.Value
	setup.LostHost = f.lostHost.Value
	setup.Voltmeter, setup.Chain, setup.Beacon, setup.Ventilation = f.voltmeter, f.chain, f.beacon, f.ventilation
	if f.dummy.Value > 0 {
		setup.Dummy, setup.Parts = f.dummy.Value, nil
		return setup, "no rack: " + f.dummy.Value.String() + " on the output", nil
	}
	return setup, j.frozen.Rack.Name, nil
}

// lostHostDelay allows what a bench file allows.
func (f *virtualBenchFlags) lostHostDelay() error {
	if s := f.lostHost.Value; s != 0 && !(s >= 1 && s <= 3) {
		return fmt.Errorf("--lost-host-timer %v: a bench file allows 1 s to 3 s", s)
	}
	return nil
}

func supplyRatings(volts unit.Volts, amperes unit.Amperes) error {
	if !(volts > 0 && volts <= 1000 && amperes > 0 && amperes <= 1000) {
		return fmt.Errorf("--highest-voltage %v and --highest-current %v: above 0, at most 1000 V and 1000 A", volts, amperes)
	}
	return nil
}

// benchFileStart is how every bench file of a virtual bench begins.
const benchFileStart = "# SIMULATED"

// replaceable refuses to write over anything but the bench file of an earlier
// virtual bench: a shop's own bench file is not for a demonstration to lose.
func replaceable(path string) error {
	if path == "" {
		return nil
	}
	text, err := profiles.ReadFile(path, nil)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("--bench-file: %w", err)
	case !bytes.HasPrefix(text, []byte(benchFileStart)):
		return fmt.Errorf("--bench-file %s: there is a file that no virtual bench wrote: name another", path)
	}
	return nil
}

// announce writes the bench file, then says that the bench can be reached.
func (f *virtualBenchFlags) announce(e env, bench *front.Front, setup virtual.Setup, rackName string) error {
	line := listening{Simulated: true, SCPI: bench.SCPI(), Modbus: bench.Modbus(), Seed: f.seed, Rack: rackName, Faults: []string{}}
	for _, part := range setup.Parts {
		line.Area += part.Area * unit.SquareCentimetres(max(part.Count, 1))
	}
	for _, fault := range setup.Faults {
		line.Faults = append(line.Faults, fault.String())
	}
	if way := bench.SCPISerial() + bench.RTU() + bench.ModbusSupply(); way != "" {
		line.Way = &way
	}
	if f.benchFile != "" {
		if err := os.WriteFile(f.benchFile, []byte(bench.BenchFile()), 0o644); err != nil {
			return fmt.Errorf("write the bench file: %w", err)
		}
		line.BenchFile = &f.benchFile
	}
	return printJSON(e.stdout, line)
}
