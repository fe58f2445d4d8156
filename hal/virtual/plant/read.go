package plant

import (
	"math"
	"math/rand/v2"
)

const gasSeconds = 0.3 // time constant of the slow noise: gas in the bath

type meter struct {
	is            Meter
	lag           float64 // s, time constant
	volts         float64 // as the averaging shows them
	amperes       float64
	gas           float64 // slow noise, 1 rms
	at            float64 // s, of the last reading
	volt, current float64 // last reading
	shown         Reading // what it was taken from: no noise, no steps, no gain
	fresh         bool
}

func newMeter(is Meter) meter { return meter{is: is, lag: is.Settle / 4, at: math.Inf(-1)} }

// Reading is what the supply's meter shows.
type Reading struct {
	Volts, Amperes float64
}

// follow lets the averaging run for h seconds in which volts and amperes went
// evenly from one point to another. Exact for such a course, so it does not
// depend on the steps.
func (m *meter) follow(from, to point, h float64) {
	if m.lag <= 0 {
		m.volts, m.amperes = to.volts, to.amperes
		return
	}
	keep := math.Exp(-h / m.lag)
	m.volts = averaged(m.volts, from.volts, to.volts, m.lag/h, keep)
	m.amperes = averaged(m.amperes, from.amperes, to.amperes, m.lag/h, keep)
}

func averaged(shown, from, to, lagPerStep, keep float64) float64 {
	behind := (to - from) * lagPerStep
	return to - behind + (shown-from+behind)*keep
}

// Read takes a reading. At one instant there is one reading: asking again gives
// the same, so noise does not depend on who looks.
func (p *Plant) Read() Reading {
	m := &p.meter
	if m.at == p.seconds && m.fresh {
		return Reading{m.volt, m.current}
	}
	p.drawGas()
	is := &m.is
	volts := p.ReadVoltGain*is.VoltGain*m.volts + is.VoltOffset + is.VoltNoise*p.random.NormFloat64()
	amperes := p.ReadAmpereGain*is.AmpereGain*m.amperes + is.AmpereOffset + p.ReadAmpereOffset +
		is.AmpereNoise*p.random.NormFloat64() + is.GasNoise*p.NoiseFactor*m.amperes*m.gas
	m.volt, m.current = nearest(volts, is.VoltStep), nearest(amperes, is.AmpereStep)
	m.at, m.fresh, m.shown = p.seconds, true, Reading{m.volts, m.amperes}
	return Reading{m.volt, m.current}
}

func (p *Plant) drawGas() {
	keep := math.Exp(-(p.seconds - p.meter.at) / gasSeconds)
	p.meter.gas = keep*p.meter.gas + math.Sqrt(1-keep*keep)*p.random.NormFloat64()
}

type thermometer struct {
	at      float64 // s, of the last reading
	celsius float64
	random  *rand.Rand
}

// Thermometer reads the bath (°C). At one instant there is one reading.
func (p *Plant) Thermometer() float64 {
	b, t := &p.parameters.Bath, &p.thermometer
	if t.at != p.seconds {
		t.at = p.seconds
		t.celsius = nearest(p.celsius+b.Noise*t.random.NormFloat64(), b.Step)
	}
	return t.celsius
}

// nearest rounds to a step; 0 leaves the value as it is. A step that divides one
// evenly gives the decimal number itself, not one beside it.
func nearest(value, step float64) float64 {
	if step <= 0 {
		return value
	}
	return steps(math.Round(value/step), step)
}

// quantised rounds down to a step, with a grace of a millionth of it.
func quantised(value, step float64) float64 {
	if step <= 0 {
		return value
	}
	return steps(math.Floor(value/step+1e-6), step)
}

func steps(n, step float64) float64 {
	if inverse := math.Round(1 / step); inverse >= 1 && math.Abs(inverse*step-1) < 1e-9 {
		return n / inverse
	}
	return n * step
}
