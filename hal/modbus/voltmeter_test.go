package modbus

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal/haltest"
)

func TestVoltmeterConformance(t *testing.T) {
	for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
		t.Run(kind, func(t *testing.T) {
			haltest.Voltmeter(t, haltest.VoltmeterSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.VoltmeterRig {
				b := newBox(framing)
				b.hold[7] = 6150
				meter, err := NewVoltmeter(voltmeterOptions(t, b))
				require.NoError(t, err)
				ctx, cancel := context.WithCancel(context.Background())
				ended := make(chan struct{})
				go func() { defer close(ended); meter.Watch(ctx) }()
				t.Cleanup(func() { cancel(); <-ended })
				return haltest.VoltmeterRig{
					Voltmeter: meter, Volts: 61.5, Tolerance: 1e-9, Settle: time.Second,
					Wait:  func(d time.Duration) { <-time.After(d) },
					Break: func() { b.do(func() { b.silent = true }) }, Mend: func() { b.do(func() { b.silent = false }) },
				}
			}})
		})
	}
}

func voltmeterOptions(t *testing.T, b *box) VoltmeterOptions {
	return VoltmeterOptions{Line: supplyOptions(t, b).Line, Unit: 1,
		Register: Quantity{Table: "holding", Address: 7, Type: "u16", Scale: 0.01, Min: -1, Max: 130}}
}

// TestLateVoltsAreNeverNewVolts: an answer that comes after its time is an old reading,
// and must not be taken for the one that is asked next.
func TestLateVoltsAreNeverNewVolts(t *testing.T) {
	for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
		t.Run(kind, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				b := newBox(framing)
				b.hold[7] = 1000
				meter, err := NewVoltmeter(voltmeterOptions(t, b))
				require.NoError(t, err)
				require.NoError(t, meter.First(t.Context()))
				b.do(func() { b.fault = b.late(400 * time.Millisecond) })
				require.Error(t, meter.First(t.Context()))
				b.do(func() { b.hold[7] = 2000 })
				for range 5 {
					require.NoError(t, meter.First(t.Context()))
					volts, _, err := meter.Voltage(t.Context())
					require.NoError(t, err)
					require.InDelta(t, 20, float64(volts), 1e-9)
					<-time.After(50 * time.Millisecond)
				}
			})
		})
	}
}

func TestVoltmetersRefused(t *testing.T) {
	for want, spoil := range map[string]func(*VoltmeterOptions){
		"voltmeter: no line":   func(o *VoltmeterOptions) { o.Line = nil },
		"voltmeter: unit 248":  func(o *VoltmeterOptions) { o.Unit = 248 },
		"voltmeter: table":     func(o *VoltmeterOptions) { o.Register.Table = "coil" },
		"voltmeter: timeout -": func(o *VoltmeterOptions) { o.Timeout = -1 },
	} {
		o := voltmeterOptions(t, newBox(RTU))
		spoil(&o)
		_, err := NewVoltmeter(o)
		require.ErrorContains(t, err, want)
	}
}
