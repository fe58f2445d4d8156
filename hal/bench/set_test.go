package bench

import (
	"errors"
	"io"
	"log"
	"net"
	"os"
	"strconv"
	"syscall"
	"testing"
	"time"

	peer "github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/profiles"
)

// startLid starts an independent Modbus server with a closed lid.
func startLid(t *testing.T) string {
	t.Helper()
	for {
		address := "tcp://" + freeAddress(t)
		server, err := peer.NewServer(&peer.ServerConfiguration{URL: address, MaxClients: 2, Logger: log.New(io.Discard, "", 0)}, lidServer{closed: true})
		require.NoError(t, err)
		err = server.Start()
		if errors.Is(err, syscall.EADDRINUSE) {
			continue // somebody took it meanwhile
		}
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, server.Stop()) })
		return address
	}
}

// freeAddress is one that nobody listened on a moment ago.
func freeAddress(t *testing.T) string {
	t.Helper()
	probe, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, probe.Close())
	return probe.Addr().String()
}

// patience is the time limit of one exchange on real sockets and lines: longer than a
// loaded machine stalls.
const patience = 10 * time.Second

// patiently does something again that a stall of this machine broke off: the second in
// which a link is brought into step is fixed.
func patiently(do func() error) error {
	for began := time.Now(); ; {
		err := do()
		stalled := errors.Is(err, hal.ErrTimeout) || errors.Is(err, hal.ErrDesync)
		if !stalled || time.Since(began) > 3*patience {
			return err
		}
	}
}

func openPatiently(t *testing.T, file profiles.Bench) (set *Set) {
	t.Helper()
	require.NoError(t, patiently(func() (err error) { set, err = Open(t.Context(), file, nil); return err }))
	return set
}

func benchOf(supply, lid string) profiles.Bench {
	return profiles.Bench{
		Supply: profiles.SupplyEntry{
			Driver: "scpi", Address: supply, HighestVoltage: 80, HighestCurrent: 3,
			Dialect: profiles.Dialect{
				Compound: true, OPC: true, Status: "none", Settle: 100 * time.Millisecond,
				DecimalsV: 2, DecimalsA: 3, MainsReturn: "halted", Timeout: patience,
			},
		},
		Interlock: profiles.InterlockEntry{Driver: "modbus", Address: lid, Unit: 1, Inputs: [2]int{0, 1}, Timeout: patience},
	}
}

// TestOpensAMinimalInstrument: an instrument that was left on and has only what the
// standards require is off first, found out, driven, and left off.
func TestOpensAMinimalInstrument(t *testing.T) {
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	instrument, address := startInstrument(t)
	set := openPatiently(t, benchOf(address, startLid(t)))
	instrument.see(func() {
		require.Equal(t, "OUTP OFF", instrument.heard[0])
		require.False(t, instrument.on)
	})
	require.True(t, set.Simulated)
	require.Equal(t, hal.Identity{Maker: "SMALL WORKS", Model: "SUPPLY SIMULATED", Serial: "7", Firmware: "1.0"}, set.Identity)
	require.Nil(t, set.Thermometer)
	require.Nil(t, set.Contactor)

	channels, err := set.Interlock.Channels(t.Context())
	require.NoError(t, err)
	require.Equal(t, [2]bool{true, true}, channels.Closed)

	drive(t, set)
	require.NoError(t, set.Close())
	instrument.see(func() { require.False(t, instrument.on, "closing halts") })
	require.NoError(t, set.Close(), "closing twice is closing once")
}

// drive switches on within the bench file's limits.
func drive(t *testing.T, set *Set) {
	t.Helper()
	_, err := set.Supply.SetVoltage(t.Context(), 80.01)
	require.ErrorIs(t, err, hal.ErrRange)
	volts, err := set.Supply.SetVoltage(t.Context(), 79.999)
	require.NoError(t, err)
	require.InDelta(t, 79.99, float64(volts), 1e-9)
	_, err = set.Supply.SetCurrent(t.Context(), 3)
	require.NoError(t, err)
	require.NoError(t, set.Supply.Energise(t.Context()))
	_, err = set.Supply.Measure(t.Context())
	require.NoError(t, err)
}

// TestWithoutContactorOnlyASupplyThatStaysOff: one that comes back on with the mains
// needs a contactor to be left alone with.
func TestWithoutContactorOnlyASupplyThatStaysOff(t *testing.T) {
	for _, state := range []string{"as_before", "energised", "unknown"} {
		b := benchOf("tcp://127.0.0.1:1", "tcp://127.0.0.1:1")
		b.Supply.Dialect.MainsReturn = state
		require.ErrorIs(t, Check(b), ErrFile, state)
	}
	require.NoError(t, Check(benchOf("tcp://127.0.0.1:1", "tcp://127.0.0.1:1")))
}

func TestSecondProcessIsToldWhoHasTheBench(t *testing.T) {
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	_, address := startInstrument(t)
	lid := startLid(t)
	set := openPatiently(t, benchOf(address, lid))
	_, err := Open(t.Context(), benchOf(address, lid), nil)
	require.ErrorIs(t, err, ErrInUse)
	require.ErrorContains(t, err, strconv.Itoa(os.Getpid()))
	require.NoError(t, set.Close())
	require.NoError(t, openPatiently(t, benchOf(address, lid)).Close(), "the bench is free again")
}

func TestNobodyThere(t *testing.T) {
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	nobody := "tcp://127.0.0.1:1"
	_, err := Open(t.Context(), benchOf(nobody, nobody), nil)
	require.ErrorContains(t, err, "supply at "+nobody)
	require.NotErrorIs(t, err, ErrFile)

	instrument, address := startInstrument(t)
	_, err = Open(t.Context(), benchOf(address, nobody), nil)
	require.ErrorContains(t, err, "interlock at "+nobody)
	require.ErrorIs(t, err, hal.ErrGone)
	instrument.see(func() { require.False(t, instrument.on) })
}

func TestMistakesInTheFile(t *testing.T) {
	good := benchOf("tcp://127.0.0.1:1", "tcp://127.0.0.1:2")
	for want, spoil := range map[string]func(*profiles.Bench){
		`supply: driver "telnet" is not known: analog`:        func(b *profiles.Bench) { b.Supply.Driver = "telnet" },
		`interlock: driver "rope" is not known: gpio, modbus`: func(b *profiles.Bench) { b.Interlock.Driver = "rope" },
		`interlock: this pull makes a loose wire read as a closed contact`: func(b *profiles.Bench) {
			b.Interlock = profiles.InterlockEntry{Driver: "gpio", Lines: [2]string{"A", "B"}, Wiring: profiles.WiringEntry{Closed: "low", Bias: "pull-down"}}
		},
		`emergency stop: line 7 is a number, so the chip must be named`: func(b *profiles.Bench) {
			b.EmergencyStop = &profiles.StopEntry{Driver: "gpio", Lines: []string{"7"}}
		},
		`ventilation: line 7 is a number, so the chip must be named`: func(b *profiles.Bench) {
			b.Ventilation = &profiles.VentilationEntry{Driver: "gpio", Line: "7"}
		},
		`ventilation: driver "fan" is not known: gpio, modbus`: func(b *profiles.Bench) { b.Ventilation = &profiles.VentilationEntry{Driver: "fan", Line: "A"} },
		`usbtmc:// is not a way to this device`:                func(b *profiles.Bench) { b.Interlock.Address = "usbtmc:///dev/usbtmc0" },
		`does not begin with tcp://`:                           func(b *profiles.Bench) { b.Interlock.Address = "192.0.2.1" },
		`contactor: driver "relay" is not known: gpio`:         func(b *profiles.Bench) { b.Contactor = &profiles.ContactorEntry{Driver: "relay"} },
		`bath temperature: driver "mercury" is not known`:      func(b *profiles.Bench) { b.Temperature = &profiles.ThermometerEntry{Driver: "mercury"} },
	} {
		bad := good
		spoil(&bad)
		_, err := Open(t.Context(), bad, nil)
		require.ErrorIs(t, err, ErrFile)
		require.ErrorContains(t, err, want)
	}
	require.NoError(t, Check(good))
}
