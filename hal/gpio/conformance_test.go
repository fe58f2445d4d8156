package gpio

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/haltest"
)

// Waiting inside a bubble of testing/synctest takes no real time.
func pass(d time.Duration) {
	<-time.After(d)
	synctest.Wait()
}

func lidRig(t *testing.T) haltest.InterlockRig {
	b := newBoard()
	lid := NewInterlock(b.request(InterlockRequest([2]string{"LID-A", "LID-B"}, Wiring{Bias: BiasPullDown})))
	go lid.Watch(t.Context())
	return haltest.InterlockRig{Interlock: lid, Wait: pass,
		Contacts: func(first, second bool) {
			b.input(0, first)
			b.input(1, second)
			if first || second {
				pass(closesAfter)
			}
		},
		Hands: map[haltest.Fault]func(){haltest.Gone: b.unplug},
	}
}

func TestInterlockConformance(t *testing.T) {
	suite := haltest.InterlockSuite{Run: synctest.Test, Open: lidRig}
	haltest.Interlock(t, suite)
	haltest.Changer(t, suite, func(r haltest.InterlockRig) {
		b := r.Interlock.(*Interlock).contacts.lines.(*board)
		b.input(1, false)
		b.input(1, true)
	})
}

func TestEmergencyStopConformance(t *testing.T) {
	for _, names := range [][]string{{"STOP-A", "STOP-B"}, {"STOP"}} {
		t.Run(strings.Join(names, "+"), func(t *testing.T) {
			haltest.EmergencyStop(t, haltest.StopSuite{Run: synctest.Test, Open: func(*testing.T) haltest.StopRig {
				b := newBoard()
				stop := NewEmergencyStop(b.request(StopRequest(names, Wiring{ClosedLow: true, Bias: BiasPullUp})), len(names))
				return haltest.StopRig{Stop: stop, Two: len(names) == 2, Hands: map[haltest.Fault]func(){haltest.Gone: b.unplug},
					Contacts: func(first, second bool) {
						b.input(0, first)
						if len(names) == 2 {
							b.input(1, second)
						}
						_, err := stop.Contacts(t.Context()) // a level that nobody looks at is not seen
						require.NoError(t, err)
						if first || second {
							pass(closesAfter)
						}
					}}
			}})
		})
	}
}

func TestVentilationConformance(t *testing.T) {
	haltest.Ventilation(t, haltest.VentilationSuite{Run: synctest.Test, Open: func(*testing.T) haltest.VentilationRig {
		b := newBoard()
		fan := NewVentilation(b.request(VentilationRequest("AIRFLOW", Wiring{ClosedLow: true, Bias: BiasPullUp})))
		return haltest.VentilationRig{Ventilation: fan, Hands: map[haltest.Fault]func(){haltest.Gone: b.unplug},
			Contact: func(closed bool) {
				b.input(0, closed)
				_, _, err := fan.Airflow(t.Context()) // a level that nobody looks at is not seen
				require.NoError(t, err)
				if closed {
					pass(closesAfter)
				}
			}}
	}})
}

func wiring() ContactorWiring {
	return ContactorWiring{Pulse: "CONTACTOR-PULSE", Drop: "CONTACTOR-DROP", Mirror: "CONTACTOR-MIRROR", Contact: Wiring{Bias: BiasPullDown}}
}

func TestContactorConformance(t *testing.T) {
	haltest.Contactor(t, haltest.ContactorSuite{Run: synctest.Test, Open: func(*testing.T) haltest.ContactorRig {
		b := newBoard()
		contactor := NewContactor(b.request(ContactorRequest(wiring())))
		c := newCoil(b)
		settle := func(d time.Duration) { pass(d); b.mu.Lock(); defer b.mu.Unlock(); c.mirror() }
		return haltest.ContactorRig{Contactor: contactor, Power: c.power, Wait: settle, OneShot: shot, Moves: 30 * time.Millisecond,
			Weld: func() { c.welded = true }, Gone: b.unplug}
	}})
}

func TestBeaconConformance(t *testing.T) {
	for name, lamps := range map[string][]hal.Lamp{
		"full":          {hal.Red, hal.Yellow, hal.Green, hal.Blue, hal.White, hal.Sounder, hal.Chime},
		"without white": {hal.Red, hal.Yellow, hal.Green, hal.Blue, hal.Chime},
	} {
		t.Run(name, func(t *testing.T) {
			haltest.Beacon(t, haltest.BeaconSuite{Open: func(*testing.T) haltest.BeaconRig {
				b := newBoard()
				names := make([]string, len(lamps))
				for i := range names {
					names[i] = string(rune('A' + i))
				}
				beacon := NewBeacon(b.request(BeaconRequest(names, false)), lamps)
				return haltest.BeaconRig{Beacon: beacon, Gone: b.unplug, Lit: func() string {
					lit := ""
					for i, name := range names {
						if b.levels>>i&1 == 1 {
							lit += name
						}
					}
					return lit
				}}
			}})
		})
	}
}

var (
	_ hal.Changer       = (*Interlock)(nil)
	_ hal.EmergencyStop = (*EmergencyStop)(nil)
	_ hal.Ventilation   = (*Ventilation)(nil)
	_ hal.Beacon        = (*Beacon)(nil)
)
