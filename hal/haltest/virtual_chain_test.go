package haltest_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal/haltest"
	"anodized/hal/virtual"
)

// chained is a virtual bench with a contactor and an emergency stop.
func chained(t *testing.T) (b *virtual.Bench, wait func(time.Duration), inject func(id string, part int) func()) {
	start := setup()
	start.Chain, start.PersonWaits = true, true
	b, err := virtual.New(start)
	require.NoError(t, err)
	wait = func(d time.Duration) { b.AdvanceTo(b.Now().Sub(virtual.Epoch) + d) }
	inject = func(id string, part int) func() {
		return func() { require.NoError(t, b.Inject(virtual.Fault{ID: id, Part: part})); wait(time.Millisecond) }
	}
	return b, wait, inject
}

func TestVirtualContactor(t *testing.T) {
	haltest.Contactor(t, haltest.ContactorSuite{Open: func(t *testing.T) haltest.ContactorRig {
		b, wait, inject := chained(t)
		closed := func() bool { // volts reach the cell if and only if the contacts are closed
			truth := b.Truth()
			require.False(t, truth.Live && !truth.ContactorClosed)
			return truth.ContactorClosed
		}
		return haltest.ContactorRig{Contactor: b.Contactor(), Power: closed, Wait: wait, OneShot: time.Second,
			Moves: 30 * time.Millisecond, Weld: inject("contactor-welded", 0), Gone: inject("contactor-gone", 0)}
	}})
}

func TestVirtualEmergencyStop(t *testing.T) {
	haltest.EmergencyStop(t, haltest.StopSuite{Open: func(t *testing.T) haltest.StopRig {
		b, _, inject := chained(t)
		return haltest.StopRig{Stop: b.EmergencyStop(), Two: true, Hands: map[haltest.Fault]func(){haltest.Gone: inject("emergency-stop-gone", 0)},
			Contacts: func(first, second bool) {
				for i, closed := range [2]bool{first, second} {
					id := map[bool]string{false: "emergency-stop-one-contact", true: "emergency-stop-stuck-closed"}[closed]
					inject(id, i+1)()
				}
			}}
	}})
}

func TestVirtualInterlockTells(t *testing.T) {
	haltest.Changer(t, haltest.InterlockSuite{Open: func(t *testing.T) haltest.InterlockRig {
		b, wait, _ := chained(t)
		rig := interlockRig(t, b, wait)
		rig.Interlock = b.Interlock()
		return rig
	}}, func(r haltest.InterlockRig) {
		r.Contacts(true, false)
		r.Contacts(true, true)
	})
}
