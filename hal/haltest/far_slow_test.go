package haltest_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/analog"
	"anodized/hal/haltest"
	"anodized/hal/haltest/stand"
	"anodized/hal/modbus"
	"anodized/hal/onewire"
	"anodized/hal/probe"
	"anodized/hal/rtd"
	"anodized/hal/scpi"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
)

// warmth is what the bath is at, and how far from it a chip of 1/16 degree may be.
const (
	warmth    = unit.Celsius(20)
	warmNoise = unit.Celsius(0.6)
)

// thermometerRig is the rig of a thermometer in the bath of a bench.
func (f *far) thermometerRig(thermometer hal.Thermometer) haltest.ThermometerRig {
	return haltest.ThermometerRig{Thermometer: thermometer, Bath: warmth, Tolerance: warmNoise, Settle: time.Second, Wait: pass,
		Break:   func() { f.inject(virtual.Fault{ID: "thermometer-silent"}) },
		SetBath: func(to unit.Celsius) { f.inject(virtual.Fault{ID: "bath-step", Size: float64(to - warmth)}) }}
}

func thermometerOfKernel(t *testing.T) haltest.ThermometerRig {
	f := newFar(t, withChain())
	thermometer, err := onewire.NewKernel(stand.NewBath(f.bench, f.elapsed), stand.KernelChip)
	require.NoError(t, err)
	go thermometer.Watch(f.ctx)
	return f.thermometerRig(thermometer)
}

func thermometerOnBus(t *testing.T) haltest.ThermometerRig {
	f := newFar(t, withChain())
	thermometer, err := onewire.New(stand.NewBath(f.bench, f.elapsed).Bus(), stand.KernelChip)
	require.NoError(t, err)
	go thermometer.Watch(f.ctx)
	return f.thermometerRig(thermometer)
}

func thermometerResistor(t *testing.T) haltest.ThermometerRig {
	f := newFar(t, withChain())
	thermometer, err := rtd.New(rtd.Options{Port: stand.NewBath(f.bench, f.elapsed).Resistor(), Zero: 100, Reference: 430, Wires: 3})
	require.NoError(t, err)
	go thermometer.Watch(f.ctx)
	return f.thermometerRig(thermometer)
}

func thermometerOver(framing modbus.Framing) func(*testing.T) haltest.ThermometerRig {
	return func(t *testing.T) haltest.ThermometerRig {
		f := newFar(t, withChain())
		line, _ := f.bus(framing)
		thermometer, err := modbus.NewThermometer(modbus.ThermometerOptions{Line: line, Unit: front.LidUnit, Timeout: patience, Loopback: true,
			Register: modbus.Quantity{Table: "input", Address: 0, Type: "i16", Scale: 0.1, Min: -20, Max: 110}})
		require.NoError(t, err)
		go thermometer.Watch(f.ctx)
		return f.thermometerRig(thermometer)
	}
}

// cellVolts are across the cell, behind a closed output and without a contactor.
const cellVolts = 20

func charged(t *testing.T) *far {
	start := almost(7)
	start.Voltmeter = true
	f := newFar(t, start)
	f.bench.Exchange(f.elapsed(), func() {
		source := f.bench.Source()
		source.SetVolts(cellVolts)
		source.SetAmperes(1)
		source.SwitchOutput(true)
	})
	pass(2 * time.Second)
	f.now()
	return f
}

// voltmeterRig is the rig of a meter across the cell of a bench.
func (f *far) voltmeterRig(read probe.ReadVolts, breaks func(bool)) haltest.VoltmeterRig {
	meter := probe.NewMeter(read)
	go meter.Watch(f.ctx)
	return haltest.VoltmeterRig{Voltmeter: meter, Volts: cellVolts, Tolerance: 0.05, Settle: time.Second, Wait: pass,
		Break: func() { breaks(true) }, Mend: func() { breaks(false) }}
}

func voltmeterSCPI(serial bool) func(*testing.T) haltest.VoltmeterRig {
	return func(t *testing.T) haltest.VoltmeterRig {
		f := charged(t)
		meter := stand.NewMeter(f.bench, f.elapsed)
		plug := stand.NewPlug(f.room(meter.Serve), stand.SCPITap())
		if serial {
			plug = stand.NewPlug(stand.Line(func(end *stand.End) { f.told(meter.On(f.ctx, end)) }), stand.SCPITap())
		}
		t.Cleanup(plug.Pull)
		dial := func(ctx context.Context) (scpi.Transport, error) { return dialled(plug.Dial(ctx)) }
		transport, err := dial(f.ctx)
		require.NoError(t, err)
		opened, err := scpi.OpenVoltmeter(f.ctx, scpi.VoltmeterOptions{Transport: transport, Redial: dial, KeepOpen: serial, Query: "MEAS:VOLT?", Timeout: patience, Highest: 120})
		require.NoError(t, err)
		return f.voltmeterRig(opened.Read, plug.Tap.Mute)
	}
}

func voltmeterOver(framing modbus.Framing) func(*testing.T) haltest.VoltmeterRig {
	return func(t *testing.T) haltest.VoltmeterRig {
		f := charged(t)
		line, plug := f.bus(framing)
		meter, err := modbus.NewVoltmeter(modbus.VoltmeterOptions{Line: line, Unit: front.LidUnit, Timeout: patience, Loopback: true,
			Register: modbus.Quantity{Table: "input", Address: 0x10, Type: "i32", Order: "high_first", Scale: 0.001, Min: -10, Max: 145}})
		require.NoError(t, err)
		go meter.Watch(f.ctx)
		return haltest.VoltmeterRig{Voltmeter: meter, Volts: cellVolts, Tolerance: 0.05, Settle: time.Second, Wait: pass,
			Break: func() { plug.Tap.Mute(true) }, Mend: func() { plug.Tap.Mute(false) }}
	}
}

func voltmeterDivider(t *testing.T) haltest.VoltmeterRig {
	f := charged(t)
	board, lane := f.board(), analog.NewLane("board")
	t.Cleanup(func() { require.NoError(t, lane.Close()) })
	divider, err := board.Divider(lane)
	require.NoError(t, err)
	meter, err := analog.OpenVoltmeter(f.ctx, divider)
	require.NoError(t, err)
	return f.voltmeterRig(meter.Read, func(on bool) { board.Mute(func() bool { return on }) })
}
