package bench

import (
	"context"
	"fmt"
	"os"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
	"anodized/profiles"
)

// standing is a virtual bench with its Modbus ways open, and the bench file for it.
func standing(t *testing.T, arrange func(*front.Options)) profiles.Bench {
	t.Helper()
	file, _ := standingBench(t, arrange)
	return file
}

func standingBench(t *testing.T, arrange func(*front.Options)) (profiles.Bench, *virtual.Bench) {
	t.Helper()
	t.Setenv("XDG_RUNTIME_DIR", t.TempDir())
	o := front.Options{Setup: virtual.Setup{Seed: 3, Parts: []virtual.Part{{Area: 100}}}, Baud: 115200}
	arrange(&o)
	f, err := front.Listen(o)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- f.Serve(ctx) }()
	t.Cleanup(func() { cancel(); require.NoError(t, <-ended) })
	file, err := profiles.ReadBench("virtual.yaml", []byte(f.BenchFile()))
	require.NoError(t, err)
	file.Supply.Dialect.Timeout, file.Interlock.Timeout = patience, patience
	if file.Supply.Modbus != nil {
		file.Supply.Modbus.Timeout = patience
	}
	if file.Temperature != nil {
		file.Temperature.Timeout = patience
	}
	if file.Contactor != nil {
		file.Contactor.Timeout, file.EmergencyStop.Timeout = patience, patience
	}
	if file.Voltmeter != nil {
		file.Voltmeter.Timeout = patience
	}
	if file.Beacon != nil {
		file.Beacon.Timeout = patience
	}
	require.NoError(t, Check(file))
	return file, f.Bench()
}

// driveModbus switches on within the bench file's limits.
func driveModbus(t *testing.T, set *Set) {
	t.Helper()
	_, err := set.Supply.SetVoltage(t.Context(), 120.01)
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

// TestThreeDevicesOnOneSerialLine: supply, lid and thermometer share it, and two sets
// cannot.
func TestThreeDevicesOnOneSerialLine(t *testing.T) {
	file := standing(t, func(o *front.Options) { o.RTUTerminal = true })
	set := openPatiently(t, file)
	require.Len(t, set.shared, 1)
	require.True(t, set.Simulated)
	driveModbus(t, set)
	_, err := set.Interlock.Channels(t.Context())
	require.NoError(t, err)
	require.Eventually(t, func() bool {
		celsius, _, err := set.Thermometer.Temperature(t.Context())
		return err == nil && celsius > 15 && celsius < 25
	}, 10*time.Second, 10*time.Millisecond)
	other := file
	other.Supply.Address += "&stop=2"
	_, err = Open(t.Context(), other, nil)
	require.ErrorIs(t, err, ErrInUse)
	require.NoError(t, set.Close())
}

func TestOneSerialLineHasOneSetting(t *testing.T) {
	file := standing(t, func(o *front.Options) { o.RTUTerminal = true })
	file.Interlock.Address += "&stop=2"
	_, err := Open(t.Context(), file, nil)
	require.ErrorIs(t, err, ErrFile)
	require.ErrorContains(t, err, "with other settings")
}

func TestSupplyOverModbusTCP(t *testing.T) {
	file := standing(t, func(o *front.Options) { o.ModbusListen = "127.0.0.1:0" })
	set := openPatiently(t, file)
	require.Equal(t, hal.Identity{Maker: "ANODIZED", Model: "SIMULATED BENCH", Firmware: "0"}, set.Identity)
	driveModbus(t, set)
	require.NoError(t, set.Close())
}

// TestFrameGaps: 3.5 characters of 11 bits, and 1.75 ms above 19200 bits a second
// (MODBUS over Serial Line V1.02, 2.5.1.1).
func TestFrameGaps(t *testing.T) {
	for address, want := range map[string]time.Duration{
		"rtu:///dev/ttyS0?baud=9600": 4010 * time.Microsecond, "rtu:///dev/ttyS0": 2005 * time.Microsecond,
		"rtu:///dev/ttyS0?baud=115200": 1750 * time.Microsecond, "rtu+tcp://192.0.2.1:4001": 1750 * time.Microsecond,
	} {
		a, err := profiles.ParseAddress(address, modbusWays...)
		require.NoError(t, err)
		require.InDelta(t, want, frameGap(a), float64(5*time.Microsecond), address)
	}
}

func TestModbusMistakes(t *testing.T) {
	file := standing(t, func(o *front.Options) { o.RTUTerminal = true })
	for want, spoil := range map[string]func(*profiles.Bench){
		"supply: mistake":         func(b *profiles.Bench) { b.Supply.Modbus = nil },
		"needs a register":        func(b *profiles.Bench) { b.Temperature = &profiles.ThermometerEntry{Driver: "modbus"} },
		"serial:// is not a way":  func(b *profiles.Bench) { b.Supply.Address = "serial:///dev/ttyS0" },
		"usbtmc:// is not a way":  func(b *profiles.Bench) { b.Interlock.Address = "usbtmc:///dev/usbtmc0" },
		"bath temperature: mista": func(b *profiles.Bench) { t := *b.Temperature; t.Address = "x"; b.Temperature = &t },
	} {
		bad := file
		spoil(&bad)
		err := Check(bad)
		require.ErrorIs(t, err, ErrFile, want)
		require.ErrorContains(t, err, want)
	}
}

// TestNothingIsLeftOpen: sets that were opened and closed leave no descriptor and no
// goroutine behind.
func TestNothingIsLeftOpen(t *testing.T) {
	for name, arrange := range map[string]func(*front.Options){
		"RTU": func(o *front.Options) { o.RTUTerminal = true }, "SCPI on a serial line": func(o *front.Options) { o.SCPITerminal = true },
		"Modbus TCP": func(o *front.Options) { o.ModbusListen = "127.0.0.1:0" },
	} {
		t.Run(name, func(t *testing.T) {
			file := standing(t, arrange)
			cycle := func() { require.NoError(t, openPatiently(t, file).Close()) }
			cycle()
			files, goroutines := openFiles(t), runtime.NumGoroutine()
			for range 10 {
				cycle()
			}
			var left string
			settled := func() bool { // it is looked at from one goroutine more
				left = fmt.Sprintf("%d files of %d, %d goroutines of %d", openFiles(t), files, runtime.NumGoroutine()-1, goroutines)
				return openFiles(t) <= files && runtime.NumGoroutine()-1 <= goroutines
			}
			require.Eventually(t, settled, 10*time.Second, 10*time.Millisecond, "the server's side ends a moment later")
			t.Log(left)
		})
	}
}

func openFiles(t *testing.T) int {
	entries, err := os.ReadDir("/proc/self/fd")
	require.NoError(t, err)
	return len(entries)
}
