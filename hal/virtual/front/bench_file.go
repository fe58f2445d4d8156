package front

import (
	"fmt"
	"math"
	"strings"
	"time"

	"anodized/hal/virtual/scpiserver"
)

// leastSettle is what a controller should wait for even where the meter has no lag.
const leastSettle = 50 * time.Millisecond

// BenchFile is the text of a bench file for this bench. Where the supply has a
// pseudo-terminal it is reached by that.
func (f *Front) BenchFile() string {
	limits := f.bench.Supply().Limits()
	var b strings.Builder
	line := func(format string, values ...any) { fmt.Fprintf(&b, format+"\n", values...) }
	line("# SIMULATED: a virtual bench, seed %d. Nothing real hangs on it.", f.options.Setup.Seed)
	line("supply:")
	line("  driver: scpi")
	line("  address: %s", f.supplyAddress())
	line("  highest voltage: %v V", float64(limits.HighestVolts))
	line("  highest current: %v A", float64(limits.HighestAmperes))
	line("  dialect:")
	line("    status: %s", f.statusKey())
	line("    settle: %d ms", max(limits.Settle, leastSettle).Milliseconds())
	line("    decimals_v: %d", decimals(float64(limits.VoltStep)))
	line("    decimals_a: %d", decimals(float64(limits.AmpereStep)))
	line("    mains_return: halted")
	line("interlock:")
	line("  driver: modbus")
	line("  address: %s", f.Modbus())
	line("  unit: %d", InterlockUnit)
	line("  inputs: [0, 1]")
	return b.String()
}

func (f *Front) supplyAddress() string {
	if f.lines.scpi != nil {
		return f.SCPISerial()
	}
	return f.SCPI()
}

func (f *Front) statusKey() scpiserver.Layout { return f.options.Layout }

// decimals is how many decimals write a setpoint without asking for more than
// the step gives.
func decimals(step float64) int {
	if step <= 0 {
		return 6
	}
	return int(math.Max(0, math.Min(6, math.Floor(-math.Log10(step)+1e-9))))
}
