package modbus

import (
	"encoding/binary"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/haltest"
)

// The coils and inputs of the module: 2 and 3 are the emergency stop, 4 the mirror contact.
const (
	pulseCoil, dropCoil    = 0, 1
	firstStop, mirrorInput = 2, 4
	shot, moves            = time.Second, 20 * time.Millisecond
	watchdogTime           = 900 * time.Millisecond
)

// module is a box of inputs and coils with a contactor behind them, as its maker and an
// electrician might build it: a one-shot on coil 0 that coil 1 clears, or a contactor on
// coil 0 that the module's own watchdog lets go.
type module struct {
	coils    [2]bool
	stop     [2]bool
	watchdog bool
	until    time.Time // the coil of the contactor is fed until then
	welded   bool
}

func (m *module) fed(at time.Time) bool {
	if m.watchdog {
		return m.coils[pulseCoil] && at.Before(m.until)
	}
	return m.coils[dropCoil] && at.Before(m.until)
}

// power tells whether the power contacts are closed.
func (m *module) power() bool { return m.fed(time.Now()) || m.welded }

func (m *module) execute(pdu []byte) []byte {
	address, value := int(binary.BigEndian.Uint16(pdu[1:])), binary.BigEndian.Uint16(pdu[3:])
	if pdu[0] == 0x02 {
		answer := []byte{0x02, 1, 0}
		for n := range int(value) {
			if m.input(address + n) {
				answer[2] |= 1 << n
			}
		}
		return answer
	}
	on := value == 0xFF00
	if address == pulseCoil && on && (m.watchdog || !m.coils[pulseCoil]) {
		m.until = time.Now().Add(shot)
		if m.watchdog {
			m.until = time.Now().Add(watchdogTime)
		}
	}
	m.coils[address] = on
	if !on && address == dropCoil {
		m.until = time.Time{}
	}
	return pdu
}

func (m *module) input(address int) bool {
	if address == mirrorInput {
		return !m.power()
	}
	return m.stop[address-firstStop]
}

func contactorOptions(t *testing.T, b *box, watchdog bool) ContactorOptions {
	o := ContactorOptions{Line: supplyOptions(t, b).Line, Unit: 1, Timeout: 200 * time.Millisecond, Loopback: true,
		Pulse: pulseCoil, Drop: dropCoil, Feedback: mirrorInput, Watchdog: watchdog}
	if watchdog {
		o.Drop = -1
	}
	return o
}

func TestContactorConformance(t *testing.T) {
	for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
		for held, watchdog := range map[string]bool{"one-shot": false, "watchdog": true} {
			t.Run(kind+", "+held, func(t *testing.T) {
				haltest.Contactor(t, haltest.ContactorSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.ContactorRig {
					b := newBox(framing)
					b.module = &module{watchdog: watchdog, coils: [2]bool{true, true}, until: time.Now().Add(time.Hour)} // left on by whoever was before
					contactor, err := NewContactor(contactorOptions(t, b, watchdog))
					require.NoError(t, err)
					require.NoError(t, contactor.Halt())
					return haltest.ContactorRig{Contactor: contactor, Power: func() (on bool) { b.do(func() { on = b.module.power() }); return on },
						Wait: func(d time.Duration) { <-time.After(d) }, OneShot: shot, Moves: moves,
						Weld: func() { b.do(func() { b.module.welded = true }) },
						Gone: func() { b.do(func() { b.cut = true; b.drop() }) }}
				}})
			})
		}
	}
}

// TestDropGoesFirst: a Halt does not wait for the pulse whose answer does not come, and
// the contactor has let go within the time of a frame or two.
func TestDropGoesFirst(t *testing.T) {
	for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
		t.Run(kind, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				b := newBox(framing)
				b.module = &module{}
				c, err := NewContactor(contactorOptions(t, b, false))
				require.NoError(t, err)
				require.NoError(t, c.Halt())
				require.NoError(t, c.Beat())
				b.do(func() { b.fault = func(*wire, []byte) {} }) // the next answer is lost
				beaten := make(chan error, 1)
				go func() { beaten <- c.Beat() }()
				<-time.After(50 * time.Millisecond)
				asked, let := time.Now(), time.Time{}
				done := make(chan error, 1)
				go func() { done <- c.Halt() }()
				for let.IsZero() {
					<-time.After(time.Millisecond)
					b.do(func() {
						if !b.module.power() {
							let = time.Now()
						}
					})
				}
				require.LessOrEqual(t, let.Sub(asked), 20*time.Millisecond, "not after a time-out")
				require.Error(t, <-beaten)
				require.NoError(t, <-done, "and it is confirmed")
				require.NoError(t, c.Beat(), "the next beat closes it again")
				b.do(func() { require.True(t, b.module.power()) })
			})
		})
	}
}

// TestASilentModuleDoesNotConfirmTheDrop.
func TestASilentModuleDoesNotConfirmTheDrop(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBox(TCP)
		b.module = &module{}
		c, err := NewContactor(contactorOptions(t, b, false))
		require.NoError(t, err)
		require.NoError(t, c.Beat())
		b.do(func() { b.silent = true })
		require.ErrorIs(t, c.Halt(), hal.ErrTimeout)
		b.do(func() { require.False(t, b.module.power(), "it heard it all the same") })
		closed, err := c.Closed(t.Context())
		require.Error(t, err)
		require.True(t, closed)
	})
}

func TestStopConformance(t *testing.T) {
	for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
		for count, inputs := range [][]int{{3}, {2, 3}} {
			t.Run(kind, func(t *testing.T) {
				haltest.EmergencyStop(t, haltest.StopSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.StopRig {
					b := newBox(framing)
					b.module = &module{}
					stop, err := NewEmergencyStop(StopOptions{Line: supplyOptions(t, b).Line, Unit: 1, Inputs: inputs, Loopback: true})
					require.NoError(t, err)
					return haltest.StopRig{Stop: stop, Two: count == 1, Contacts: func(first, second bool) {
						set := [2]bool{first, second}
						if count == 0 {
							set[1] = first
						}
						b.do(func() { b.module.stop = set })
					}, Hands: map[haltest.Fault]func(){haltest.Gone: func() { b.do(func() { b.cut = true; b.drop() }) }}}
				}})
			})
		}
	}
}

func TestVentilationConformance(t *testing.T) {
	for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
		t.Run(kind, func(t *testing.T) {
			haltest.Ventilation(t, haltest.VentilationSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.VentilationRig {
				b := newBox(framing)
				b.module = &module{}
				fan, err := NewVentilation(VentilationOptions{Line: supplyOptions(t, b).Line, Unit: 1, Input: 3, Loopback: true})
				require.NoError(t, err)
				return haltest.VentilationRig{Ventilation: fan,
					Contact: func(closed bool) { b.do(func() { b.module.stop[1] = closed }) },
					Hands:   map[haltest.Fault]func(){haltest.Gone: func() { b.do(func() { b.cut = true; b.drop() }) }}}
			}})
		})
	}
}

// TestLidStopAndContactorShareALine: on one serial line, with one unit, each still says
// its own, also after the answer to one of them was lost.
func TestLidStopAndContactorShareALine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBox(RTU)
		b.module = &module{stop: [2]bool{true, true}}
		o := contactorOptions(t, b, false)
		c, err := NewContactor(o)
		require.NoError(t, err)
		stop, err := NewEmergencyStop(StopOptions{Line: o.Line, Unit: 1, Inputs: []int{2, 3}, Loopback: true})
		require.NoError(t, err)
		require.NoError(t, c.Halt())
		for n := range 20 {
			if n%5 == 4 {
				b.do(func() { b.fault = b.late(350 * time.Millisecond) })
				_, err := stop.Contacts(t.Context())
				require.ErrorIs(t, err, hal.ErrTimeout)
			}
			require.NoError(t, c.Beat())
			contacts, err := stop.Contacts(t.Context())
			require.NoError(t, err)
			require.Equal(t, [2]bool{true, true}, contacts.Closed)
			closed, err := c.Closed(t.Context())
			require.NoError(t, err)
			require.True(t, closed)
		}
	})
}

func TestRemoteChainRefused(t *testing.T) {
	for want, spoil := range map[string]func(*ContactorOptions){
		"no line": func(o *ContactorOptions) { o.Line = nil }, "unit 300": func(o *ContactorOptions) { o.Unit = 300 },
		"a coil each": func(o *ContactorOptions) { o.Drop = o.Pulse }, "pulse coil -1": func(o *ContactorOptions) { o.Pulse = -1 },
		"feedback input 70000": func(o *ContactorOptions) { o.Feedback = 70000 }, "drop coil -2": func(o *ContactorOptions) { o.Drop = -2 },
	} {
		o := contactorOptions(t, newBox(TCP), false)
		spoil(&o)
		_, err := NewContactor(o)
		require.ErrorContains(t, err, want)
	}
	for want, inputs := range map[string][]int{"one or two": {}, "of its own": {4, 4}, "at most 1999": {0, 2000}, "0 to 65535": {-1}} {
		_, err := NewEmergencyStop(StopOptions{Line: supplyOptions(t, newBox(TCP)).Line, Unit: 1, Inputs: inputs})
		require.ErrorContains(t, err, want)
	}
	for want, o := range map[string]VentilationOptions{"input -1": {Unit: 1, Input: -1}, "input 70000": {Unit: 1, Input: 70000}, "unit 300": {Unit: 300}} {
		o.Line = supplyOptions(t, newBox(TCP)).Line
		_, err := NewVentilation(o)
		require.ErrorContains(t, err, want)
	}
}
