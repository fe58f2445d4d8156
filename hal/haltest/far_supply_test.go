package haltest_test

import (
	"context"
	"maps"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/analog"
	"anodized/hal/bench"
	"anodized/hal/haltest"
	"anodized/hal/haltest/stand"
	"anodized/hal/modbus"
	"anodized/hal/scpi"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
)

// almost is a bench with so large a resistor on its output that nearly nothing flows.
func almost(seed uint64) virtual.Setup { return virtual.Setup{Seed: seed, Dummy: 1e6, LostHost: 1} }

// stranger is another bench, which says that it is another one.
func stranger(f *far) *far {
	start := almost(8)
	start.Version = "another"
	return newFar(f.t, start)
}

// supplyHands are what the timetable of a bench can do to its supply.
func (f *far) supplyHands() map[haltest.Fault]func() {
	inject := func(fault virtual.Fault) func() { return func() { f.inject(fault) } }
	return map[haltest.Fault]func(){
		haltest.NotANumber:    inject(virtual.Fault{ID: "no-reading", For: patience}),
		haltest.Clamp:         inject(virtual.Fault{ID: "setpoint-clamped"}),
		haltest.Refuse:        inject(virtual.Fault{ID: "instrument-error", Size: -222}),
		haltest.KnobTurned:    inject(virtual.Fault{ID: "panel-touched", Size: 3.21 - 5}),
		haltest.OutputTouched: inject(virtual.Fault{ID: "output-touched"}),
		haltest.Restart:       inject(virtual.Fault{ID: "supply-restarted"}),
		haltest.Trip:          inject(virtual.Fault{ID: "supply-tripped"}),
		haltest.StuckOn:       inject(virtual.Fault{ID: "off-ignored"}),
		haltest.Silence:       inject(virtual.Fault{ID: "supply-silent"}),
		haltest.QueueOverflow: func() {
			for range 40 {
				f.inject(virtual.Fault{ID: "instrument-error", Size: -222})
			}
		},
	}
}

// supplyRig is the rig of a supply at the near end of a plug.
func (f *far) supplyRig(plug *stand.Plug) haltest.SupplyRig {
	hands := f.supplyHands()
	maps.Copy(hands, plug.Tap.Hands())
	hands[haltest.Gone] = plug.Pull
	return haltest.SupplyRig{
		Output: func() bool { f.now(); return f.bench.Truth().Output },
		Held: func() (volts, amperes float64) {
			f.now()
			truth := f.bench.Truth()
			return truth.HeldVolts, truth.HeldAmperes
		},
		Heard: plug.Tap.Heard, Wait: pass, Hands: hands,
		Load: func(ohms float64) { f.inject(virtual.Fault{ID: "short-circuit", Size: ohms}) },
	}
}

func dialect() scpi.Dialect {
	return scpi.Dialect{Compound: true, OPC: true, Status: "questionable", Settle: 150 * time.Millisecond, Timeout: patience,
		DecimalsV: 2, DecimalsA: 3, MainsReturn: "halted",
		LostHostSwitch: "OUTP:PROT:WDOG", LostHostDelay: "OUTP:PROT:WDOG:DEL"}
}

func (f *far) openSCPI(dial scpi.Redial, keep bool) hal.Supply {
	transport, err := dial(f.ctx)
	require.NoError(f.t, err)
	supply, err := scpi.Open(f.ctx, scpi.Options{Transport: transport, Redial: dial, KeepOpen: keep, Dialect: dialect(),
		HighestVolts: 120, HighestAmperes: 5})
	require.NoError(f.t, err)
	return supply.WithAbilities()
}

func supplySCPI(t *testing.T) haltest.SupplyRig {
	f := newFar(t, almost(7))
	plug := stand.NewPlug(f.scpiRoom(), stand.SCPITap())
	return f.overSCPI(plug, false, func() { plug.Put(stranger(f).scpiRoom()) })
}

func supplySerial(t *testing.T) haltest.SupplyRig {
	f := newFar(t, almost(7))
	plug := stand.NewPlug(f.scpiLine(), stand.SCPITap())
	return f.overSCPI(plug, true, func() { plug.Put(stranger(f).scpiLine()) })
}

func (f *far) overSCPI(plug *stand.Plug, keep bool, another func()) haltest.SupplyRig {
	f.t.Cleanup(plug.Pull)
	rig := f.supplyRig(plug)
	rig.Supply = f.openSCPI(func(ctx context.Context) (scpi.Transport, error) { return dialled(plug.Dial(ctx)) }, keep)
	rig.Hands[haltest.Stranger] = another
	return rig
}

func supplyUSB(t *testing.T) haltest.SupplyRig {
	f := newFar(t, almost(7))
	plug := stand.NewPlug(f.scpiRoom(), stand.SCPITap())
	var device *bench.USBTMC
	closes := func() {
		if device != nil {
			_ = device.Close() // what is pulled cannot be closed twice
		}
	}
	t.Cleanup(func() { plug.Pull(); closes() })
	rig := f.supplyRig(plug)
	rig.Supply = f.openSCPI(func(ctx context.Context) (scpi.Transport, error) {
		closes()
		device = nil
		end, err := plug.Dial(ctx)
		if err != nil {
			return nil, err
		}
		device = bench.NewUSBTMC(stand.NewUSB(end), true)
		return device, nil
	}, true)
	rig.Hands[haltest.Stranger] = func() { plug.Put(stranger(f).scpiRoom()) }
	return rig
}

func supplyOver(framing modbus.Framing) func(*testing.T) haltest.SupplyRig {
	return func(t *testing.T) haltest.SupplyRig {
		f := newFar(t, almost(7))
		line, plug := f.bus(framing)
		rig := f.supplyRig(plug)
		var err error
		rig.Supply, err = modbus.OpenSupply(f.ctx, modbus.SupplyOptions{Line: line, Unit: front.SupplyUnit, Timeout: patience, Loopback: true,
			Identification: true, Map: registers(), Settle: 150 * time.Millisecond, MainsReturn: "halted", HighestVolts: 120, HighestAmperes: 5})
		require.NoError(t, err)
		rig.Words = haltest.Words{Off: "01 06 00 02 00 00", Who: []string{"01 2B", "01 08", "01 04"}, Refusal: "exception 03"}
		rig.Hands[haltest.Refuse] = plug.Tap.Refusal
		rig.Hands[haltest.Stranger] = func() {
			if framing == modbus.TCP {
				plug.Put(stranger(f).modbusRoom())
				return
			}
			plug.Put(stranger(f).rtuLine())
		}
		delete(rig.Hands, haltest.QueueOverflow)
		return rig
	}
}

// registers are the map of the virtual bench.
func registers() modbus.Map {
	return modbus.Map{
		SetpointVoltage: modbus.Quantity{Table: "holding", Address: 0, Type: "u16", Scale: 0.01, Max: 120},
		SetpointCurrent: modbus.Quantity{Table: "holding", Address: 1, Type: "u16", Scale: 0.01, Max: 5},
		Output:          modbus.Output{Table: "holding", Address: 2, Energised: 1},
		MeasuredVoltage: modbus.Quantity{Table: "input", Address: 0x100, Type: "u32", Order: "high_first", Scale: 0.001, Min: -1, Max: 145},
		MeasuredCurrent: modbus.Quantity{Table: "input", Address: 0x102, Type: "i32", Order: "high_first", Scale: 0.0001, Min: -1, Max: 7},
		Status:          &modbus.Status{Table: "input", Address: 0x104, CV: 0, CC: 1, Energised: 8, Tripped: []int{4, 5, 6}},
	}
}

func supplyAnalogue(t *testing.T) haltest.SupplyRig {
	f := newFar(t, almost(7))
	board, lane := f.board(), analog.NewLane("board")
	t.Cleanup(func() { require.NoError(t, lane.Close()) })
	options, err := board.Supply(lane)
	require.NoError(t, err)
	options.Settle = 150 * time.Millisecond
	supply, err := analog.Open(f.ctx, options)
	require.NoError(t, err)
	hands := f.supplyHands()
	return haltest.SupplyRig{Supply: supply, Wait: pass, Held: board.Held,
		Output: func() bool { f.now(); return f.bench.Truth().Output },
		Load:   func(ohms float64) { f.inject(virtual.Fault{ID: "short-circuit", Size: ohms}) },
		Hands: map[haltest.Fault]func(){
			haltest.Clamp: hands[haltest.Clamp], haltest.StuckOn: hands[haltest.StuckOn], haltest.Restart: board.Restart,
			haltest.OutputTouched: hands[haltest.OutputTouched],
			haltest.GarbageReply:  board.PowerUpOnce, haltest.NotANumber: board.PowerUpOnce,
			haltest.LateReply: func() { board.Late(analog.Longest + 10*time.Millisecond) },
			haltest.Trip: func() {
				board.Saturate(0, math.MaxInt16)
				_, err := supply.Measure(f.ctx)
				require.ErrorIs(t, err, hal.ErrTripped)
			},
			haltest.Gone: func() { board.Unplug(); board.Mute(func() bool { return true }) },
			haltest.Silence: func() {
				released := make(chan struct{})
				board.Hold(func() { <-released })
				t.Cleanup(func() { close(released); board.Hold(nil) })
			},
		}}
}

func supplyInMemory(t *testing.T) haltest.SupplyRig {
	start := almost(7)
	start.PersonWaits = true
	b, err := virtual.New(start)
	require.NoError(t, err)
	f := &far{t: t, began: time.Now(), bench: b}
	rig := f.supplyRig(stand.NewPlug(nil, stand.SCPITap()))
	for fault := range stand.SCPITap().Hands() {
		delete(rig.Hands, fault) // there is no line
	}
	delete(rig.Hands, haltest.Refuse)
	rig.Heard, rig.Supply = nil, b.Supply()
	rig.Wait = func(d time.Duration) { pass(d); f.now() }
	rig.Hands[haltest.Gone] = func() { f.inject(virtual.Fault{ID: "supply-unplugged"}) }
	return rig
}
