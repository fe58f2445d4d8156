package scpi

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/haltest"
	"anodized/hal/probe"
)

// atCell makes an instrument a meter that shows 61.5 V, whatever else it can do.
func atCell() *instrument {
	i := newInstrument()
	i.identity, i.rest = "BENCH WORKS,DM-1 SIMULATED,0007,1.0", [2]float64{61.5, 0}
	return i
}

func meterOptions(t testing.TB, i *instrument) VoltmeterOptions {
	transport, err := i.dial(t.Context())
	require.NoError(t, err)
	t.Cleanup(i.hangUp)
	nonce := 0
	return VoltmeterOptions{Transport: transport, Redial: i.dial, Query: "MEAS:VOLT?", Timeout: 300 * time.Millisecond, Highest: 120,
		Nonce: func() int { nonce += 37; return nonce }}
}

func TestVoltmeterConformance(t *testing.T) {
	for name, arrange := range map[string]func(*instrument, *VoltmeterOptions){
		"redial":    func(*instrument, *VoltmeterOptions) {},
		"no redial": func(_ *instrument, o *VoltmeterOptions) { o.Redial = nil },
		"kept open": func(_ *instrument, o *VoltmeterOptions) { o.KeepOpen = true },
		"echo":      func(i *instrument, o *VoltmeterOptions) { i.echo, o.Echo = true, true },
		"CR LF":     func(i *instrument, o *VoltmeterOptions) { i.replyEnd, o.SendEnd = "\r\n", "crlf" },
		"probe idn": func(i *instrument, o *VoltmeterOptions) { i.lacks["*ESE?"] = true; o.Probe = "idn" },
	} {
		t.Run(name, func(t *testing.T) {
			haltest.Voltmeter(t, haltest.VoltmeterSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.VoltmeterRig {
				i := atCell()
				o := meterOptions(t, i)
				arrange(i, &o)
				v, err := OpenVoltmeter(t.Context(), o)
				require.NoError(t, err)
				meter := probe.NewMeter(v.Read)
				ctx, cancel := context.WithCancel(context.Background())
				ended := make(chan struct{})
				go func() { defer close(ended); meter.Watch(ctx) }()
				t.Cleanup(func() { cancel(); <-ended })
				return haltest.VoltmeterRig{Voltmeter: meter, Volts: 61.5, Tolerance: 1e-9, Settle: time.Second,
					Wait:  func(d time.Duration) { <-time.After(d) },
					Break: func() { i.do(func() { i.silent = true }) }, Mend: func() { i.do(func() { i.silent = false }) }}
			}})
		})
	}
}

// TestVoltmeterLink: whatever goes wrong with one answer is an error, and the answer
// that is taken after it is to the question after it.
func TestVoltmeterLink(t *testing.T) {
	for _, redial := range []bool{true, false} {
		for fault, want := range map[haltest.Fault]error{haltest.LateReply: hal.ErrTimeout, haltest.LostReply: hal.ErrTimeout,
			haltest.GarbageReply: hal.ErrNoReading, haltest.GarbageBefore: hal.ErrNoReading, haltest.CutReply: hal.ErrTimeout, haltest.NotANumber: hal.ErrNoReading} {
			t.Run(string(fault), func(t *testing.T) {
				synctest.Test(t, func(t *testing.T) {
					i := atCell()
					o := meterOptions(t, i)
					if !redial {
						o.Redial = nil
					}
					v, err := OpenVoltmeter(t.Context(), o)
					require.NoError(t, err)
					hands(i, redial)[fault]()
					_, err = v.Read(t.Context())
					require.ErrorIs(t, err, want)
					i.do(func() { i.reading, i.rest[0] = "", 20 })
					for range 5 {
						volts, err := v.Read(t.Context())
						require.NoError(t, err)
						require.InDelta(t, 20, float64(volts), 1e-9, "the volts of now")
						<-time.After(100 * time.Millisecond)
					}
				})
			})
		}
	}
}

func TestAnotherMeterIsNotRead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := atCell()
		v, err := OpenVoltmeter(t.Context(), meterOptions(t, i))
		require.NoError(t, err)
		require.Equal(t, "DM-1 SIMULATED", v.Identity().Model)
		hands(i, true)[haltest.Stranger]()
		for range 3 {
			_, err = v.Read(t.Context())
			require.ErrorIs(t, err, hal.ErrGone)
		}
		for _, line := range i.lines() {
			require.NotContains(t, line, "OUTP", "a meter is never switched")
		}
	})
}

func TestMetersRefused(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for want, spoil := range map[string]func(*VoltmeterOptions){
			"transport": func(o *VoltmeterOptions) { o.Transport = nil },
			"above 0":   func(o *VoltmeterOptions) { o.Highest = 0 },
			"send_end":  func(o *VoltmeterOptions) { o.SendEnd = "nl" },
			"timeout":   func(o *VoltmeterOptions) { o.Timeout = -1 },
			"no number": func(o *VoltmeterOptions) { o.Query = "*IDN?" },
			"cannot be": func(o *VoltmeterOptions) { o.Highest = 10 },
		} {
			o := meterOptions(t, atCell())
			spoil(&o)
			_, err := OpenVoltmeter(t.Context(), o)
			require.Error(t, err, want)
		}
	})
}
