package controller

import (
	"context"
	"math"

	"anodized/controller/process"
	"anodized/hal/unit"
)

// readMeter takes the latest reading of the voltmeter. That one is read beside the tick,
// so this never waits.
func (s *Station) readMeter() {
	o := &s.owner
	if s.devices.Voltmeter == nil {
		return
	}
	volts, at, err := s.devices.Voltmeter.Voltage(context.Background())
	o.input.Meter.OK = err == nil && !math.IsNaN(float64(volts)) && !math.IsInf(float64(volts), 0)
	if !o.input.Meter.OK {
		o.errors.Voltmeter++
		return // its time stays: the age tells
	}
	o.input.Meter = process.Meter{OK: true, Volts: volts, At: o.since(at)}
}

func (s *Station) meterView() VoltmeterView {
	in := &s.owner.input
	switch {
	case s.devices.Voltmeter == nil:
		return VoltmeterView{Volts: Unknown(), AgeMS: Unknown()}
	case !in.Meter.OK:
		return VoltmeterView{Fitted: true, Volts: Unknown(), AgeMS: age(in.Now, in.Meter.At)}
	}
	return VoltmeterView{Fitted: true, Volts: number(in.Meter.Volts), AgeMS: age(in.Now, in.Meter.At)}
}

// usualMeterSettle fits a meter of which nothing else is said.
const usualMeterSettle unit.Seconds = 0.3

func meterSettle(d Devices) unit.Seconds {
	switch {
	case d.Voltmeter == nil:
		return 0
	case d.MeterSettle == 0:
		return usualMeterSettle
	}
	return unit.Seconds(d.MeterSettle.Seconds())
}
