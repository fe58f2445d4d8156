package scpi

import (
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal/haltest"
)

// TestConformance runs the contract's suite over the ways that a link can be made
// to work again and the ways that an instrument can answer.
func TestConformance(t *testing.T) {
	for name, arrange := range map[string]func(*instrument, *Options){
		"redial":           func(*instrument, *Options) {},
		"no redial":        func(_ *instrument, o *Options) { o.Redial = nil },
		"kept open":        func(_ *instrument, o *Options) { o.KeepOpen = true },
		"one query a line": func(_ *instrument, o *Options) { o.Dialect.Compound = false },
		"no *OPC?":         func(i *instrument, o *Options) { i.lacks["*OPC?"] = true; o.Dialect.OPC = false },
		"ack":              func(i *instrument, o *Options) { i.ack, o.Dialect.Ack = "OK", "OK" },
		"echo":             func(i *instrument, o *Options) { i.echo, o.Dialect.Echo = true, true },
		"CR LF":            func(i *instrument, o *Options) { i.replyEnd, o.Dialect.SendEnd = "\r\n", "crlf" },
		"separate answers": func(i *instrument, _ *Options) { i.separate = true },
		"probe idn":        func(i *instrument, o *Options) { i.lacks["*ESE?"] = true; o.Dialect.Probe = "idn" },
		"gap":              func(_ *instrument, o *Options) { o.Dialect.Gap = 5 * time.Millisecond },
	} {
		t.Run(name, func(t *testing.T) {
			haltest.Supply(t, haltest.SupplySuite{
				Run:  synctest.Test,
				Open: func(t *testing.T) haltest.SupplyRig { return rig(t, arrange) },
			})
		})
	}
}

func rig(t *testing.T, arrange func(*instrument, *Options)) haltest.SupplyRig {
	i := newInstrument()
	transport, err := i.dial(t.Context())
	require.NoError(t, err)
	t.Cleanup(i.hangUp)
	o := options(i, transport, plain())
	arrange(i, &o)
	supply, err := Open(t.Context(), o)
	require.NoError(t, err)
	return haltest.SupplyRig{
		Supply: supply,
		Output: func() (on bool) { i.do(func() { on = i.on }); return on },
		Held:   func() (v, a float64) { i.do(func() { v, a = i.volts, i.amperes }); return v, a },
		Heard:  i.lines,
		Load:   func(ohms float64) { i.do(func() { i.ohms = ohms }) },
		Wait:   func(d time.Duration) { <-time.After(d) },
		Hands:  hands(i, o.Redial != nil),
	}
}

// hands are what this instrument can be made to do.
func hands(i *instrument, redial bool) map[haltest.Fault]func() {
	fault := func(f func(w *wire, reply string)) func() {
		return func() { i.do(func() { i.fault = f }) }
	}
	change := func(f func()) func() { return func() { i.do(f) } }
	all := map[haltest.Fault]func(){
		haltest.LateReply: fault(func(w *wire, reply string) {
			i.later(w, 400*time.Millisecond, reply+i.replyEnd)
		}),
		haltest.LostReply:     fault(func(*wire, string) {}),
		haltest.GarbageReply:  fault(func(w *wire, _ string) { i.send(w, "\x00\xff#!?;\"\";~") }),
		haltest.GarbageBefore: fault(func(w *wire, reply string) { i.send(w, "?%"+reply) }),
		haltest.ExtraReply:    fault(func(w *wire, reply string) { i.send(w, reply); i.send(w, "3.3") }),
		haltest.CutReply:      fault(func(w *wire, reply string) { i.raw(w, reply[:len(reply)/2]) }),
		haltest.SplitReply: fault(func(w *wire, reply string) {
			i.raw(w, reply[:3])
			i.later(w, 30*time.Millisecond, reply[3:]+i.replyEnd)
		}),
		haltest.NotANumber:    change(func() { i.reading = "9.91000E+37" }),
		haltest.Clamp:         change(func() { i.clampAt = 10 }),
		haltest.Refuse:        change(func() { i.refuse = true }),
		haltest.KnobTurned:    change(func() { i.volts = 3.21 }),
		haltest.OutputTouched: change(func() { i.on = !i.on }),
		haltest.Restart:       change(func() { i.on, i.volts, i.amperes, i.esr = false, 0, 0, 128 }),
		haltest.Trip:          change(func() { i.on, i.questionable = false, i.questionable|1<<9 }),
		haltest.StuckOn:       change(func() { i.stuck = true }),
		haltest.Silence:       change(func() { i.silent = true }),
		haltest.QueueOverflow: change(func() {
			for n := range 19 {
				i.queue = append(i.queue, fmt.Sprintf(`-222,"Data out of range;%d"`, n))
			}
			i.queue = append(i.queue, `-350,"Queue overflow"`)
		}),
		haltest.Gone: func() { i.do(func() { i.cut = true }); i.hangUp() },
	}
	if redial {
		all[haltest.Stranger] = func() { i.do(func() { i.identity = "OTHER WORKS,X,7,1" }); i.hangUp() }
	}
	return all
}
