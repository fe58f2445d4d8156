package modbus

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal/haltest"
)

func TestThermometerConformance(t *testing.T) {
	for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
		t.Run(kind, func(t *testing.T) {
			haltest.Thermometer(t, haltest.ThermometerSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.ThermometerRig {
				b := newBox(framing)
				b.hold[7] = 0xFFFF - 54 // -5.5 °C
				thermometer, err := NewThermometer(thermometerOptions(t, b))
				require.NoError(t, err)
				ctx, cancel := context.WithCancel(context.Background())
				ended := make(chan struct{})
				go func() { defer close(ended); thermometer.Watch(ctx) }()
				t.Cleanup(func() { cancel(); <-ended })
				return haltest.ThermometerRig{
					Thermometer: thermometer, Bath: -5.5, Tolerance: 1e-9, Settle: time.Second,
					Wait:  func(d time.Duration) { <-time.After(d) },
					Break: func() { b.do(func() { b.silent = true }) },
				}
			}})
		})
	}
}

func thermometerOptions(t *testing.T, b *box) ThermometerOptions {
	return ThermometerOptions{Line: supplyOptions(t, b).Line, Unit: 1,
		Register: Quantity{Table: "holding", Address: 7, Type: "i16", Scale: 0.1, Min: -10, Max: 100}}
}

func TestThermometersRefused(t *testing.T) {
	for want, spoil := range map[string]func(*ThermometerOptions){
		"no line":   func(o *ThermometerOptions) { o.Line = nil },
		"unit 248":  func(o *ThermometerOptions) { o.Unit = 248 },
		"type \"\"": func(o *ThermometerOptions) { o.Register.Type = "" },
	} {
		o := thermometerOptions(t, newBox(RTU))
		spoil(&o)
		_, err := NewThermometer(o)
		require.ErrorContains(t, err, want)
	}
}
