package haltest_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal/haltest"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
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

func contactorInMemory(t *testing.T) haltest.ContactorRig {
	b, wait, inject := chained(t)
	closed := func() bool { // volts reach the cell if and only if the contacts are closed
		truth := b.Truth()
		require.False(t, truth.Live && !truth.ContactorClosed)
		return truth.ContactorClosed
	}
	return haltest.ContactorRig{Contactor: b.Contactor(), Power: closed, Wait: wait, OneShot: time.Second,
		Moves: 30 * time.Millisecond, Weld: inject("contactor-welded", 0), Gone: inject("contactor-gone", 0)}
}

func stopInMemory(t *testing.T) haltest.StopRig {
	b, _, inject := chained(t)
	return haltest.StopRig{Stop: b.EmergencyStop(), Two: true, Contacts: contacts(inject),
		Hands: map[haltest.Fault]func(){haltest.Gone: inject("emergency-stop-gone", 0)}}
}

func ventilationInMemory(t *testing.T) haltest.VentilationRig {
	start := almost(7)
	start.Ventilation, start.PersonWaits = true, true
	b, err := virtual.New(start)
	require.NoError(t, err)
	inject := func(f virtual.Fault) { require.NoError(t, b.Inject(f)) }
	return haltest.VentilationRig{Ventilation: b.Ventilation(),
		Hands: map[haltest.Fault]func(){haltest.Gone: func() { inject(virtual.Fault{ID: "ventilation-gone"}) }},
		Contact: func(closed bool) {
			inject(virtual.Fault{ID: "ventilation-lost", For: map[bool]time.Duration{true: time.Millisecond}[closed]})
			b.AdvanceTo(b.Now().Sub(virtual.Epoch) + 10*time.Millisecond)
		}}
}

func stopOver(arrange func(*front.Options)) func(*testing.T) haltest.StopRig {
	return func(t *testing.T) haltest.StopRig {
		f, set, _ := listen(t, arrange, func(o *front.Options) { o.Setup.Chain = true })
		return haltest.StopRig{Stop: set.EmergencyStop, Two: true, Contacts: contacts(func(id string, part int) func() {
			return func() { require.NoError(t, f.Bench().Inject(virtual.Fault{ID: id, Part: part})) }
		})}
	}
}

// contacts moves the contacts of a stop by faults of their own; the last one counts.
func contacts(inject func(id string, part int) func()) func(first, second bool) {
	return func(first, second bool) {
		for i, closed := range [2]bool{first, second} {
			id := map[bool]string{false: "emergency-stop-one-contact", true: "emergency-stop-stuck-closed"}[closed]
			inject(id, i+1)()
		}
	}
}

// meterInMemory hangs across a cell of 20 V. A second silence that ends at once ends the
// first one too.
func meterInMemory(t *testing.T) haltest.VoltmeterRig {
	start := almost(7)
	start.Voltmeter, start.PersonWaits = true, true
	b, err := virtual.New(start)
	require.NoError(t, err)
	wait := func(d time.Duration) { b.AdvanceTo(b.Now().Sub(virtual.Epoch) + d) }
	b.Exchange(0, func() {
		source := b.Source()
		source.SetVolts(cellVolts)
		source.SetAmperes(1)
		source.SwitchOutput(true)
	})
	wait(2 * time.Second)
	silence := func(lasts time.Duration) func() {
		return func() {
			require.NoError(t, b.Inject(virtual.Fault{ID: "meter-silent", For: lasts}))
			wait(lasts % time.Second)
		}
	}
	return haltest.VoltmeterRig{Voltmeter: b.Voltmeter(), Volts: cellVolts, Tolerance: 0.05, Settle: time.Second, Wait: wait,
		Break: silence(virtual.Forever), Mend: silence(time.Millisecond)}
}

func colourSensorInMemory(t *testing.T) haltest.ColourSensorRig {
	b, err := virtual.New(setup())
	require.NoError(t, err)
	s := b.ColourSensor()
	return haltest.ColourSensorRig{Sensor: s, White: s.LayWhite, Dark: s.TakeAway, Gone: s.Unplug,
		Part: func() { require.NoError(t, s.LayPart(0)) }}
}
