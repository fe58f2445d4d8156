package onewire

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/onewire"
	"periph.io/x/conn/v3/onewire/onewiretest"

	"anodized/hal"
	"anodized/hal/haltest"
)

// chip is the example address of periph's documentation.
const chip = onewire.Address(0x7A00000131825228)

// recorded is a bus with one chip that gives these scratchpads, one a reading.
func recorded(pads ...scratchpad) *onewiretest.Playback {
	select9 := []byte{0x55, 0x28, 0x52, 0x82, 0x31, 0x01, 0x00, 0x00, 0x7A}
	bus := &onewiretest.Playback{
		Devices: []onewire.Address{chip}, DontPanic: true,
		Ops: []onewiretest.IO{{W: []byte{0xF0}, Pull: onewire.WeakPullup}},
	}
	for _, pad := range pads {
		bus.Ops = append(bus.Ops,
			onewiretest.IO{W: append(append([]byte{}, select9...), 0x44), Pull: onewire.StrongPullup},
			onewiretest.IO{W: append(append([]byte{}, select9...), 0xBE), R: append([]byte{}, pad[:]...), Pull: onewire.WeakPullup})
	}
	return bus
}

// watched runs a thermometer in the test's bubble.
func watched(t *testing.T, bus onewire.Bus) *Thermometer {
	t.Helper()
	thermometer, err := New(bus, "")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	t.Cleanup(cancel)
	go thermometer.Watch(ctx)
	return thermometer
}

// wait lets time pass, and what then runs run to its end.
func wait(d time.Duration) {
	<-time.After(d)
	synctest.Wait()
}

func TestConformance(t *testing.T) {
	haltest.Thermometer(t, haltest.ThermometerSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.ThermometerRig {
		bath := withSum(0x0182, 0x0E) // 24.125 °C
		return haltest.ThermometerRig{
			Thermometer: watched(t, recorded(bath, bath, bath, bath)),
			Bath:        24.125, Settle: time.Second, Wait: wait,
			Break: func() {}, // the recording ends, and with it the readings
		}
	}})
}

func TestNothingReadYet(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		thermometer := watched(t, recorded(withSum(0x0182, 0x0E)))
		_, _, err := thermometer.Temperature(t.Context())
		require.ErrorIs(t, err, hal.ErrNoReading)
		began := time.Now()
		_, _, err = thermometer.Temperature(t.Context())
		require.Error(t, err)
		require.Equal(t, began, time.Now(), "it never waits for the bus")
	})
}

// TestStepIsSeenTwice: one reading 10 degrees off is dropped; the second passes.
func TestStepIsSeenTwice(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		at24, at34 := withSum(24*16, 0x0E), withSum(34*16, 0x0E)
		thermometer := watched(t, recorded(at24, at34, at24, at24, at34, at34))
		wait(900 * time.Millisecond) // between two readings
		for second, want := range []float64{24, -1, -1, 24, -1, 34} {
			celsius, _, err := thermometer.Temperature(t.Context())
			if want < 0 {
				require.ErrorContains(t, err, "after", "second %d", second)
			} else {
				require.NoError(t, err)
				require.InDelta(t, want, float64(celsius), 0)
			}
			wait(time.Second)
		}
	})
}

// stalled is a bus that does not come back from a transaction.
type stalled struct {
	*onewiretest.Playback
	stall chan struct{}
}

func (s stalled) Tx(w, r []byte, power onewire.Pullup) error {
	if s.Count == 3 {
		<-s.stall
	}
	return s.Playback.Tx(w, r, power)
}

func TestStaleIsNoReading(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		bath := withSum(0x0182, 0x0E)
		bus := stalled{recorded(bath, bath), make(chan struct{})}
		t.Cleanup(func() { close(bus.stall) })
		thermometer := watched(t, bus)
		wait(4 * time.Second)
		_, _, err := thermometer.Temperature(t.Context())
		require.NoError(t, err)
		wait(3 * time.Second)
		_, _, err = thermometer.Temperature(t.Context())
		require.ErrorIs(t, err, hal.ErrNoReading)
		require.ErrorContains(t, err, "old")
	})
}

// addressOf is a ROM code with its check sum.
func addressOf(family, serial byte) onewire.Address {
	code := []byte{family, serial, 0, 0, 0, 0, 0}
	return onewire.Address(family) | onewire.Address(serial)<<8 | onewire.Address(crc8(code))<<56
}

func TestChipIsFoundByItsName(t *testing.T) {
	search := func(device string, devices ...onewire.Address) error {
		bus := recorded()
		bus.Devices = devices
		for range devices { // one pass of the search finds one chip
			bus.Ops = append(bus.Ops, bus.Ops[0])
		}
		_, err := New(bus, device)
		return err
	}
	require.NoError(t, search("", chip))
	require.NoError(t, search("28-000001318252", chip))
	require.NoError(t, search("7A00000131825228", chip))
	require.ErrorContains(t, search("28-000001318253", chip), "0 DS18B20")
	require.ErrorIs(t, search(""), hal.ErrGone)
	require.ErrorContains(t, search("", chip, addressOf(0x28, 9)), "2 DS18B20")
	require.NoError(t, search("", chip, addressOf(0x10, 9)), "another kind of chip is no thermometer of ours")
}
