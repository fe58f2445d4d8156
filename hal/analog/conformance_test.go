package analog

import (
	"testing"
	"testing/synctest"
	"time"

	"anodized/hal"
	"anodized/hal/haltest"
)

// compile-time: a supply behind converters is a supply.
var _ hal.Supply = (*Supply)(nil)

// wait lets time pass, and what then runs run to its end.
func wait(d time.Duration) {
	<-time.After(d)
	synctest.Wait()
}

// rig has the hands that a board of converters can have.
func rig(t *testing.T, change func(*Options)) haltest.SupplyRig {
	b := &board{}
	s := open(t, b, change)
	fault := func(change func()) func() { return func() { b.do(change) } }
	return haltest.SupplyRig{
		Supply: s, Wait: wait,
		Output: func() (on bool) { b.do(func() { on = b.enabled }); return on },
		Held: func() (volts, amperes float64) {
			b.do(func() { volts, amperes = s.volts.held(b.codes[0]), s.amperes.held(b.codes[1]) })
			return volts, amperes
		},
		Load: func(ohms float64) { b.do(func() { b.ohms = ohms }) },
		Hands: map[haltest.Fault]func(){
			haltest.LateReply:    fault(func() { b.late = Longest + 10*time.Millisecond }),
			haltest.GarbageReply: fault(func() { b.garbage = true }),
			haltest.NotANumber:   fault(func() { b.garbage = true }),
			haltest.Clamp:        fault(func() { b.ceiling = s.volts.code(10) }),
			haltest.Restart:      fault(func() { b.codes, b.enabled = [2]int{}, false }),
			haltest.StuckOn:      fault(func() { b.stuckOn = true }),
			haltest.Gone:         fault(func() { b.dead = true }),
			haltest.Silence: func() {
				released := make(chan struct{})
				b.do(func() { b.silent = released })
				t.Cleanup(func() { close(released); b.do(func() { b.silent = nil }) })
			},
		},
	}
}

func conform(t *testing.T, change func(*Options)) {
	haltest.Supply(t, haltest.SupplySuite{
		Run:  synctest.Test,
		Open: func(t *testing.T) haltest.SupplyRig { return rig(t, change) },
	})
}

func TestConformance(t *testing.T) { conform(t, nil) }

// TestConformanceOfACalibratedSupply: a gain of 1.024 and an offset of two steps.
func TestConformanceOfACalibratedSupply(t *testing.T) {
	conform(t, func(o *Options) {
		o.Volts.Scale = Scale{Pin: reference, Means: 100, Gain: 1.024, Offset: -0.05}
		o.Volts.DeadBand = 0.02
	})
}
