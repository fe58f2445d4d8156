package controller

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
)

// A supply that hears and says nothing is tripped for 1.3 s after its last answer at
// the latest, and hears off in that very tick, before anything is asked on a new
// connection.
func TestSilentSupplyHearsOffInTime(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for n := range 10 {
		bubbled(t, fmt.Sprint(n), func(t *testing.T) {
			w := &onPipe{}
			var fell time.Duration
			r := inRig(t, w, uint64(n), spacers(), func(r *rig) {
				r.until(t, "ramping")
				somewhere(random, 0, 3*time.Second)
				fell = sinceEpoch()
				w.silence()
			})
			require.NotNil(t, r.result.Trip)
			assert.Equal(t, fault.SupplySilent, r.result.Trip.Code)
			assert.Equal(t, "unknown", r.result.Output)
			assert.Contains(t, r.result.Reasons[0], "NOT KNOWN")
			heard := w.since(fell)
			off := slices.IndexFunc(heard, is("OUTP OFF"))
			require.NotEqual(t, -1, off)
			late := heard[off].at - fell
			assert.Less(t, late, 1300*time.Millisecond)
			assert.GreaterOrEqual(t, late, 900*time.Millisecond, "not before its time")
			assert.False(t, slices.ContainsFunc(heard[:off], is("*IDN?")), "who is there is asked after off")
			assert.False(t, r.bench.Truth().Powered)
		})
	}
}

// A connection that is cut and made anew ends the run under the name of the lost link,
// and the setpoint does not rise across it.
func TestCutConnectionEndsTheRun(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for n := range 50 {
		bubbled(t, fmt.Sprint(n), func(t *testing.T) {
			w := &onPipe{}
			var cut time.Duration
			r := inRig(t, w, uint64(n), straw(), func(r *rig) {
				r.until(t, []string{"contact-check", "ramping", "holding"}[n%3])
				somewhere(random, 0, 700*time.Millisecond)
				cut = sinceEpoch()
				w.cut()
			})
			require.NotNil(t, r.result.Trip, "%+v", r.result)
			assert.Equal(t, fault.SupplySilent, r.result.Trip.Code)
			assert.Contains(t, r.result.Trip.Message, "lost and made anew")
			assert.Equal(t, "off", r.result.Output)
			heard := w.since(cut)
			off := slices.IndexFunc(heard, is("OUTP OFF"))
			require.NotEqual(t, -1, off)
			assert.Less(t, heard[off].at-cut, 350*time.Millisecond)
			assert.Equal(t, "*IDN?", heard[0].text, "who is there is asked first")
			for _, line := range heard {
				assert.False(t, is("VOLT ")(line) && !is("VOLT 0.000")(line), "%s: nothing rises across a break", line.text)
			}
		})
	}
}
