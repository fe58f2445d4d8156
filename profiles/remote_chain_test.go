package profiles

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestRemoteChainAndVoltmeter(t *testing.T) {
	b, err := ReadBench("b", good(t, "bench-remote-chain.yaml"))
	require.NoError(t, err)
	require.Equal(t, []int{2, 3}, b.EmergencyStop.Inputs)
	require.Equal(t, 2, b.EmergencyStop.Unit)
	require.Equal(t, 300*time.Millisecond, b.EmergencyStop.Timeout)
	require.Equal(t, &VentilationEntry{Driver: "modbus", Address: "rtu+tcp://192.0.2.6:4001", Unit: 2, Timeout: 300 * time.Millisecond, Input: 5}, b.Ventilation)
	c := b.Contactor
	require.Equal(t, [3]int{0, 1, 4}, [3]int{c.PulseCoil, c.DropCoil, c.FeedbackInput})
	require.Equal(t, time.Second, c.OneShot)
	require.False(t, c.Watchdog)
	require.Equal(t, MeterDialect{Query: "READ?", Enter: []string{"CONF:VOLT:DC 200"}, SendEnd: "lf", ReplyEnd: "any", Probe: "ese",
		Timeout: 800 * time.Millisecond}, b.Voltmeter.Dialect)
}

// TestVoltmetersOfOtherKinds: a register, and a converter behind a divider with its own
// calibration; the supply's own monitor is refused.
func TestVoltmetersOfOtherKinds(t *testing.T) {
	bench := string(good(t, "bench-analog.yaml"))
	b, err := ReadBench("b", []byte(bench+`
voltmeter:
  driver: modbus
  address: tcp://192.0.2.6:502
  unit: 3
  register: {table: input, address: 0x0010, type: i32, order: low_first, scale: 0.001 V, min: -5 V, max: 150 V}
`))
	require.NoError(t, err)
	require.Equal(t, &RegisterEntry{Table: "input", Address: 16, Type: "i32", Order: "low_first", Scale: 0.001, Min: -5, Max: 150}, b.Voltmeter.Register)
	divider := bench + `
voltmeter:
  driver: analog
  converter:
    chip: ads1115
    bus: /dev/i2c-1
    address: 0x49
    channel: 0
    scale: {pin: 4 V, means: 120 V}
    calibration:
      date: 2026-03-02
      meter: bench meter 3
      low:    {nominal: 12 V, metered: 12.1 V}
      middle: {nominal: 60 V, metered: 60.3 V}
      high:   {nominal: 108 V, metered: 108.5 V}
`
	b, err = ReadBench("b", []byte(divider))
	require.NoError(t, err)
	gain, offset, err := b.Voltmeter.Converter.Line()
	require.NoError(t, err)
	require.InDelta(t, 96.4/96, gain, 1e-9)
	require.InDelta(t, 12.1-12*gain, offset, 1e-9)
	require.Equal(t, "2026-03-02", b.Voltmeter.Converter.Calibration.Date)
	own := []byte(replaced(t, divider, "address: 0x49", "address: 0x48"))
	_, err = ReadBench("b", own)
	require.ErrorContains(t, err, "proves nothing")
}

// TestAContactorMayHangOnTheModulesOwnWatchdog, without a coil of its own for the drop.
func TestAContactorMayHangOnTheModulesOwnWatchdog(t *testing.T) {
	b, err := ReadBench("b", []byte(replaced(t, replaced(t, string(good(t, "bench-remote-chain.yaml")),
		"  one-shot: 1 s", "  watchdog: 800 ms"), "  drop coil: 1\n", "")))
	require.NoError(t, err)
	require.True(t, b.Contactor.Watchdog)
	require.Equal(t, 800*time.Millisecond, b.Contactor.OneShot)
	require.Equal(t, -1, b.Contactor.DropCoil)
}

// replaced changes the one place where a text stands.
func replaced(t *testing.T, text, old, with string) string {
	t.Helper()
	require.Equal(t, 1, strings.Count(text, old), old)
	return strings.Replace(text, old, with, 1)
}
