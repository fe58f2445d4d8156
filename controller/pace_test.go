package controller

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/record"
)

// TestSlowLinkGetsLongerTicksOrIsRefused: it never creeps silently.
func TestSlowLinkGetsLongerTicksOrIsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		delay   time.Duration // of one exchange
		outcome record.Outcome
		tick    float64
		warned  bool
	}{
		"quick": {5 * time.Millisecond, record.Complete, 0.1, false},
		"slow":  {25 * time.Millisecond, record.Complete, 0.2, true},
		"crawl": {60 * time.Millisecond, record.Refused, 0.1, false},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := inRig(t, inMemory{c.delay}, 1, straw(), func(*rig) {})
				require.Equal(t, c.outcome, r.result.Outcome, "%+v", r.result)
				warned := false
				for _, ev := range r.told {
					warned = warned || ev.Kind == KindWarning && ev.Code == fault.TickLate
				}
				assert.Equal(t, c.warned, warned)
				if c.outcome == record.Refused {
					assert.Contains(t, r.result.Reasons[len(r.result.Reasons)-1], "raise the baud rate")
					return
				}
				assert.InDelta(t, c.tick, float64(r.kept.intents[0].TickSeconds), 1e-9)
				assert.Less(t, *r.result.RampSeconds, 6.6, "the ramp keeps its pace")
				assert.Equal(t, "off", r.result.Output)
			})
		})
	}
}
