package haltest_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/gpio"
	"anodized/hal/haltest"
	"anodized/hal/haltest/stand"
	"anodized/hal/modbus"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
)

// withChain is a bench with all that stands around the supply.
func withChain() virtual.Setup {
	start := setup()
	start.Chain, start.Beacon, start.Voltmeter, start.PersonWaits = true, true, true, true
	return start
}

// believed is longer than a contact on a line must stand still.
const believed = 21 * time.Millisecond

// force moves contacts by faults of their own; the last one counts.
func (f *far) force(opens, sticks string, wait time.Duration) func(first, second bool) {
	return func(first, second bool) {
		for i, closed := range [2]bool{first, second} {
			f.inject(virtual.Fault{ID: map[bool]string{false: opens, true: sticks}[closed], Part: i + 1})
		}
		if first || second {
			pass(wait)
		}
	}
}

func (f *far) lid(wait time.Duration) func(first, second bool) {
	return f.force("interlock-disagrees", "interlock-stuck-closed", wait)
}

func (f *far) stop(wait time.Duration) func(first, second bool) {
	return f.force("emergency-stop-one-contact", "emergency-stop-stuck-closed", wait)
}

func (f *far) lines(board *stand.Board, r gpio.Request) gpio.Lines {
	lines, err := board.Request(r)
	require.NoError(f.t, err)
	return lines
}

func lidOnLines(t *testing.T) haltest.InterlockRig {
	f := newFar(t, withChain())
	board := f.board()
	lid := gpio.NewInterlock(f.lines(board, gpio.InterlockRequest([2]string{stand.LidA, stand.LidB}, gpio.Wiring{})))
	go lid.Watch(f.ctx)
	return haltest.InterlockRig{Interlock: lid, Contacts: f.lid(believed), Wait: pass,
		Hands: map[haltest.Fault]func(){haltest.Gone: board.Unplug}}
}

func lidOver(framing modbus.Framing) func(*testing.T) haltest.InterlockRig {
	return func(t *testing.T) haltest.InterlockRig {
		f := newFar(t, withChain())
		line, plug := f.bus(framing)
		lid, err := modbus.New(modbus.Options{Line: line, Unit: front.LidUnit, Inputs: [2]int{0, 1}, Timeout: patience, Loopback: true})
		require.NoError(t, err)
		hands := plug.Tap.Hands()
		hands[haltest.Gone], hands[haltest.Silence] = plug.Pull, func() { plug.Tap.Mute(true) }
		hands[haltest.Refuse] = func() { f.inject(virtual.Fault{ID: "interlock-gone"}) }
		return haltest.InterlockRig{Interlock: lid, Contacts: f.lid(0), Wait: pass, Hands: hands}
	}
}

func lidInMemory(t *testing.T) haltest.InterlockRig {
	b, wait, inject := chained(t)
	rig := interlockRig(t, b, wait)
	rig.Interlock = b.Interlock()
	rig.Hands = map[haltest.Fault]func(){haltest.Gone: inject("interlock-gone", 0)}
	return rig
}

func stopOnLines(t *testing.T) haltest.StopRig {
	f := newFar(t, withChain())
	board := f.board()
	stop := gpio.NewEmergencyStop(f.lines(board, gpio.StopRequest([]string{stand.StopA, stand.StopB}, gpio.Wiring{})), 2)
	move := f.stop(0)
	return haltest.StopRig{Stop: stop, Two: true, Hands: map[haltest.Fault]func(){haltest.Gone: board.Unplug},
		Contacts: func(first, second bool) {
			move(first, second)
			_, err := stop.Contacts(t.Context()) // a level that nobody looks at is not seen
			require.NoError(t, err)
			pass(believed)
		}}
}

func stopFarOver(framing modbus.Framing) func(*testing.T) haltest.StopRig {
	return func(t *testing.T) haltest.StopRig {
		f := newFar(t, withChain())
		line, plug := f.bus(framing)
		stop, err := modbus.NewEmergencyStop(modbus.StopOptions{Line: line, Unit: front.LidUnit, Timeout: patience, Loopback: true,
			Inputs: []int{virtual.StopInput, virtual.StopInput + 1}})
		require.NoError(t, err)
		return haltest.StopRig{Stop: stop, Two: true, Contacts: f.stop(0), Hands: map[haltest.Fault]func(){haltest.Gone: plug.Pull}}
	}
}

// contactorRig is the rig of a contactor by any way to its coil.
func (f *far) contactorRig(contactor hal.Contactor, gone func()) haltest.ContactorRig {
	require.NoError(f.t, contactor.Halt())
	pass(4 * time.Second) // a person comes, whose lid cuts the coil, and goes
	return haltest.ContactorRig{Contactor: contactor, Power: func() bool { f.now(); return f.bench.Truth().ContactorClosed },
		Wait: pass, OneShot: time.Second, Moves: 30 * time.Millisecond, Gone: gone,
		Weld: func() { f.inject(virtual.Fault{ID: "contactor-welded"}) }}
}

func contactorOnLines(t *testing.T) haltest.ContactorRig {
	f := newFar(t, withChain())
	board := f.board()
	return f.contactorRig(gpio.NewContactor(f.lines(board, gpio.ContactorRequest(gpio.ContactorWiring{Pulse: stand.PulseLine,
		Drop: stand.DropLine, Mirror: stand.MirrorIn}))), board.Unplug)
}

func contactorOver(framing modbus.Framing) func(*testing.T) haltest.ContactorRig {
	return func(t *testing.T) haltest.ContactorRig {
		f := newFar(t, withChain())
		line, plug := f.bus(framing)
		contactor, err := modbus.NewContactor(modbus.ContactorOptions{Line: line, Unit: front.LidUnit, Timeout: patience, Loopback: true,
			Pulse: virtual.PulseCoil, Drop: virtual.DropCoil, Feedback: virtual.MirrorInput})
		require.NoError(t, err)
		return f.contactorRig(contactor, plug.Pull)
	}
}

var lamps = []hal.Lamp{hal.Red, hal.Yellow, hal.Green, hal.Blue, hal.White, hal.Sounder, hal.Chime}

// lit is what can be seen and heard.
func (f *far) lit() (seen string) {
	for n, on := range f.bench.Lamps() {
		if on {
			seen += stand.Lamps[n] + " "
		}
	}
	return seen
}

func beaconOnLines(t *testing.T) haltest.BeaconRig {
	f := newFar(t, withChain())
	board := f.board()
	return haltest.BeaconRig{Beacon: gpio.NewBeacon(f.lines(board, gpio.BeaconRequest(stand.Lamps, false)), lamps), Lit: f.lit, Gone: board.Unplug}
}

func beaconOver(framing modbus.Framing) func(*testing.T) haltest.BeaconRig {
	return func(t *testing.T) haltest.BeaconRig {
		f := newFar(t, withChain())
		line, plug := f.bus(framing)
		o := modbus.BeaconOptions{Line: line, Unit: front.LidUnit, Timeout: patience, Loopback: true, Lamps: lamps}
		for n := range lamps {
			o.Coils = append(o.Coils, virtual.FirstLamp+n)
		}
		beacon, err := modbus.NewBeacon(o)
		require.NoError(t, err)
		go beacon.Watch(f.ctx)
		return haltest.BeaconRig{Beacon: beacon, Lit: f.lit, Gone: plug.Pull, Wait: func() { pass(time.Second) }}
	}
}
