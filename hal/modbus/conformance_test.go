package modbus

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal/haltest"
)

// exampleMap is the default map of the virtual bench.
func exampleMap() Map {
	return Map{
		SetpointVoltage: Quantity{Table: "holding", Address: 0, Type: "u16", Scale: 0.01, Min: 0, Max: 120},
		SetpointCurrent: Quantity{Table: "holding", Address: 1, Type: "u16", Scale: 0.01, Min: 0, Max: 5},
		Output:          Output{Table: "holding", Address: 2, Energised: 1, Halted: 0},
		MeasuredVoltage: Quantity{Table: "input", Address: 0x100, Type: "u32", Order: "high_first", Scale: 0.001, Min: -1, Max: 130},
		MeasuredCurrent: Quantity{Table: "input", Address: 0x102, Type: "i32", Order: "high_first", Scale: 0.0001, Min: -0.1, Max: 6},
		Status:          &Status{Table: "input", Address: 0x104, CV: 0, CC: 1, Energised: 8, Tripped: []int{4, 5, 6}},
	}
}

func supplyOptions(t testing.TB, b *box) SupplyOptions {
	line, err := NewLine(LineOptions{Dial: b.dial, Framing: b.framing, Gap: 4 * time.Millisecond})
	require.NoError(t, err)
	t.Cleanup(b.hangUp)
	nonce := uint16(0)
	return SupplyOptions{
		Line: line, Unit: 1, Timeout: 300 * time.Millisecond, Map: exampleMap(), Loopback: true, Identification: true,
		Settle: 150 * time.Millisecond, HighestVolts: 120, HighestAmperes: 5, MainsReturn: "halted",
		Nonce: func() uint16 { nonce += 37; return nonce },
	}
}

// TestSupplyConformance runs the contract's suite over both framings and what devices lack.
func TestSupplyConformance(t *testing.T) {
	for name, arrange := range map[string]func(*box, *SupplyOptions){
		"as it is":          func(*box, *SupplyOptions) {},
		"no loopback":       func(b *box, o *SupplyOptions) { b.lacks[8], o.Loopback = true, false },
		"no identification": func(b *box, _ *SupplyOptions) { b.lacks[0x2B] = true },
		"a least above 0":   leastAbove,
		"no status":         func(_ *box, o *SupplyOptions) { o.Map.Status = nil },
	} {
		for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
			t.Run(kind+", "+name, func(t *testing.T) {
				haltest.Supply(t, haltest.SupplySuite{
					Run:  synctest.Test,
					Open: func(t *testing.T) haltest.SupplyRig { return rig(t, framing, arrange) },
				})
			})
		}
	}
}

// leastAbove is a supply that cannot be set below 1.505 V, which is between two of its
// steps, and 0.05 A.
func leastAbove(b *box, o *SupplyOptions) {
	b.least = [2]uint16{151, 5}
	o.Map.SetpointVoltage.Min, o.Map.SetpointCurrent.Min = 1.505, 0.05
}

func rig(t *testing.T, framing Framing, arrange func(*box, *SupplyOptions)) haltest.SupplyRig {
	b := newBox(framing)
	o := supplyOptions(t, b)
	arrange(b, &o)
	supply, err := OpenSupply(t.Context(), o)
	require.NoError(t, err)
	r := haltest.SupplyRig{
		Supply: supply,
		Output: func() (on bool) { b.do(func() { on = b.hold[2] != 0 }); return on },
		Held: func() (v, a float64) {
			b.do(func() { v, a = float64(b.hold[0])/100, float64(b.hold[1])/100 })
			return v, a
		},
		Heard: b.lines,
		Wait:  func(d time.Duration) { <-time.After(d) },
		Hands: hands(b),
		Words: haltest.Words{Off: "01 06 00 02 00 00", Who: []string{"01 2B", "01 08", "01 04"}, Refusal: "exception 03"},
	}
	if o.Map.Status != nil {
		r.Load = func(ohms float64) { b.do(func() { b.ohms = ohms }) }
	} else {
		delete(r.Hands, haltest.Trip)
	}
	return r
}

// hands are what this box can be made to do.
func hands(b *box) map[haltest.Fault]func() {
	fault := func(f func(w *wire, answer []byte)) func() { return func() { b.do(func() { b.fault = f }) } }
	change := func(f func()) func() { return func() { b.do(f) } }
	all := map[haltest.Fault]func(){
		haltest.LateReply:     fault(b.late(400 * time.Millisecond)),
		haltest.LostReply:     fault(func(*wire, []byte) {}),
		haltest.GarbageReply:  fault(func(w *wire, _ []byte) { reply(w, []byte("HTTP/1.0 400 Bad Request\r\n")) }),
		haltest.GarbageBefore: fault(func(w *wire, answer []byte) { reply(w, append([]byte{0xFF, 0xFF, 0xFF, 0xFF}, answer...)) }),
		haltest.ExtraReply:    fault(func(w *wire, answer []byte) { reply(w, answer); reply(w, answer) }),
		haltest.CutReply:      fault(func(w *wire, answer []byte) { reply(w, answer[:len(answer)/2]) }),
		haltest.SplitReply: fault(func(w *wire, answer []byte) {
			reply(w, answer[:3])
			later(30*time.Millisecond)(w, answer[3:])
		}),
		haltest.NotANumber:    change(func() { b.reading = []uint16{0x7FFF, 0xFFFF} }),
		haltest.Clamp:         change(func() { b.clampAt = 1000 }),
		haltest.Refuse:        change(func() { b.exception, b.times = 3, 1 }),
		haltest.KnobTurned:    change(func() { b.hold[0] = 321 }),
		haltest.OutputTouched: change(func() { b.hold[2] ^= 1 }),
		haltest.Restart:       change(func() { b.hold = map[int]uint16{0: 0, 1: 0, 2: 0} }),
		haltest.Trip:          change(func() { b.hold[2], b.tripped = 0, 1<<5 }),
		haltest.StuckOn:       change(func() { b.stuck = true }),
		haltest.Silence:       change(func() { b.silent = true }),
		haltest.Gone:          change(func() { b.cut = true; b.drop() }),
	}
	if !b.lacks[0x2B] {
		all[haltest.Stranger] = change(func() { b.identity[0] = "OTHER WORKS"; b.drop() })
	}
	return all
}
