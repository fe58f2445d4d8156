package haltest_test

import (
	"testing"

	"anodized/hal/haltest"
	"anodized/hal/virtual/front"
)

func overTCP(*front.Options)   {}
func overRTU(o *front.Options) { o.RTUTerminal = true }

// TestChain holds lid switch and emergency stop on real sockets and pseudo-terminals, in
// real time, against the contracts that TestEveryDriver holds all drivers against.
func TestChain(t *testing.T) {
	for way, arrange := range map[string]func(*front.Options){moduleTCP: overTCP, moduleRTU: overRTU} {
		t.Run("interlock/"+way, func(t *testing.T) {
			t.Parallel()
			haltest.Interlock(t, haltest.InterlockSuite{Open: interlockOver(arrange)})
		})
		t.Run("emergency stop/"+way, func(t *testing.T) {
			t.Parallel()
			haltest.EmergencyStop(t, haltest.StopSuite{Open: stopOver(arrange)})
		})
	}
}
