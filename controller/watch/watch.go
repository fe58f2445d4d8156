package watch

import (
	"math"

	"anodized/controller/fault"
	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Bench is what the estimators need to know of the instruments. The zero value
// means that nothing is known.
type Bench struct {
	Tick       unit.Seconds // time between readings
	Settle     unit.Seconds // a reading younger than this does not judge a new setpoint
	VoltStep   unit.Volts
	AmpereStep unit.Amperes
	Zero       unit.Amperes // current reading with the output off, subtracted

	Voltmeter   bool         // an independent one is fitted across the cell
	MeterSettle unit.Seconds // until it shows a step
}

// Watch is one run as seen so far. It holds no pointers into its past: constant
// memory, and its zero value is not usable.
type Watch struct {
	plan  plan.Plan
	most  profiles.Watch // thresholds: defaults, and what the profile moved
	bench Bench
	law   film.Law
	area  unit.SquareCentimetres // declared
	decl  float64                // cm²

	ring         ring
	medianV      median5
	medianI      median5
	noiseV       noise
	noiseI       noise
	sway         sway
	scatterI     float64 // A, of it without the last reading
	charge       charge
	fit          area
	live         fit
	contact      contact
	supply       supply
	cross        crosscheck
	decay        decay
	book         book
	breaking     breakdown
	foreign      foreign
	polarity     polarity
	missing      missing
	mixed        mixed
	balance      balance
	flicker      flicker
	margin       margin
	leak         leak
	bath         bath
	zero         zero
	found        marks
	trip         fault.Code
	stage        int
	pause        pause
	spoilt       bool    // the series resistance is not what the regression finds
	expected     float64 // film current of a steady ramp of this stage, A
	formed       float64 // highest film voltage so far, V
	peak         float64 // highest filtered voltage so far, V
	onset        float64
	onsetAmperes float64 // A then
	start        float64 // nm, film expected on the parts before
	thick        float64 // nm by volts, never falling
	set          float64 // setpoint in force at the reading before, V
	above        float64 // how far the mean current stands above the last reading, A
}

// New returns a watch over one run of a plan.
func New(p plan.Plan, b Bench) *Watch {
	w := &Watch{plan: p, most: p.Watch.Filled(), bench: b, area: p.Area, decl: float64(p.Area)}
	w.law = film.New(p.Law.I0, p.Law.B, p.Law.KF, p.Law.Efficiency)
	start := max(float64(p.Law.NativeFilm), float64(p.ContactCheck.FormedVolts)*w.law.NMPerVolt(w.restDensity()))
	w.start, w.thick, w.onset = start, start, math.NaN()
	w.fit.reset(float64(p.Law.Series), start, w.decl)
	w.live = fit{area: math.NaN(), areaSD: math.NaN(), series: math.NaN(), inverse: math.NaN()}
	w.decay.reset()
	w.book.reset()
	w.contact.reset()
	w.supply.reset()
	w.cross.reset()
	w.sway.reset()
	w.breaking.reset()
	w.foreign.reset()
	w.polarity.reset()
	w.missing.reset()
	w.balance.reset()
	w.flicker.reset()
	w.bath.reset()
	w.zero.reset()
	w.pause.reset()
	if b.Zero != 0 {
		w.found.add(fault.CurrentOffset, 0, "certain", float64(b.Zero))
	}
	w.coarse()
	return w
}

// restDensity is the density at which an older film is taken to have been formed.
func (w *Watch) restDensity() unit.CurrentDensity {
	if j := w.plan.End.CurrentDensity; j > 0 {
		return j
	}
	return 0.15
}

// Update takes one tick. It allocates nothing.
func (w *Watch) Update(k Tick) {
	w.trip = ""
	w.book.tick(k)
	if k.Phase == PhaseOff {
		return
	}
	w.supply.asked(k)
	w.meter(k)
	w.warmth(k)
	if !k.OK {
		return
	}
	w.accept(k)
	w.pauses(k)
	w.judge(k)
	w.doubt(k)
}

// accept works a reading into every estimate.
func (w *Watch) accept(k Tick) {
	s := sample{t: float64(k.T), v: float64(k.Volts), i: float64(k.Amperes - w.bench.Zero), ratio: math.NaN(), whole: math.NaN()}
	v, i := w.medianV.push(s.v), w.medianI.push(s.i)
	w.noiseV.push(s.v)
	if sd := w.noiseI.sd(); sd > 0 {
		w.scatterI = sd
	}
	w.noiseI.push(s.i)
	perVolt := 1 / w.law.NMPerVolt(w.density(s.i)) // V/nm
	s.film = (s.v - w.series()*s.i) / perVolt
	w.above = w.stair(k, s, perVolt)
	s.guess = w.guessed(&s)
	if w.ring.n > 0 {
		s.guess += w.ring.at(0).guess
	}
	if before := w.charge.t; w.charge.push(s.t, s.i, w.above) {
		w.found.add(fault.RecordGap, before, "certain", s.t-before)
	}
	w.peak = max(w.peak, v)
	w.formed = max(w.formed, v-w.series()*i)
	s.below = s.v < stillReached*w.peak-fallenVolts
	w.grow(k, s, perVolt)
	w.thickness(v, i)
	s.q, s.miss, s.dip = w.charge.coulombs, math.NaN(), w.foreign.probed(s.t)
	w.ring.push(s)
}

// stair is how much the mean current since the last reading stands above what is
// read now. A setpoint that climbs in steps makes a saw-tooth of the current, and a
// reading at the end of each step sees its lowest point: half of the step over the
// resistance that film and bath show to it is missing. Teeth that reach the current limit
// are cut there.
func (w *Watch) stair(k Tick, s sample, perVolt float64) float64 {
	step := float64(k.Set) - w.set
	w.set = float64(k.Set)
	film := s.film * perVolt
	if step <= 0 || k.Limited || film <= 0 || s.i <= 0 {
		return 0
	}
	softness := perVolt * 1e7 * w.law.B
	tooth := step / (film/(softness*s.i) + w.series())
	if room := float64(k.Limit-w.bench.Zero) - s.i; k.Limit > 0 && room < tooth {
		room = max(0, room)
		return room - 0.5*room*room/tooth
	}
	return 0.5 * tooth
}

// density is the current density on the declared area, kept away from zero where
// the law has no film to speak of.
func (w *Watch) density(amperes float64) unit.CurrentDensity {
	return max(unit.Amperes(amperes).Over(w.area), 0.005)
}

// series is the series resistance in use: what is expected until it is known.
func (w *Watch) series() float64 { return float64(w.plan.Law.Series) }

// grow adds a reading in which film grows to the regression, and finds the onset.
func (w *Watch) grow(k Tick, s sample, perVolt float64) {
	w.expected = w.expectedCurrent(k)
	i := w.medianI.value()
	if math.IsNaN(w.onset) && i > 0.5*w.expected && w.expected > 0 {
		w.onset, w.onsetAmperes = max(0, s.v-w.series()*i), i
	}
	if k.Phase == PhaseHold || i < 0.3*w.expected || w.charge.unknown || s.below {
		return
	}
	w.fit.add(s.v, s.i, perVolt, w.law.KF*w.law.Efficiency*w.charge.coulombs)
	w.live = w.fit.solve()
	if !w.live.ok {
		w.live.area, w.live.areaSD, w.live.series = math.NaN(), math.NaN(), math.NaN()
	}
}

// expectedCurrent is the current of a steady ramp on the declared area, at most the limit.
func (w *Watch) expectedCurrent(k Tick) float64 {
	rate := w.plan.ContactCheck.Ramp
	if k.Phase != PhaseContactCheck && len(w.plan.Stages) > 0 {
		rate = w.plan.Stages[min(w.stage, len(w.plan.Stages)-1)].Ramp
	}
	if rate > w.book.rate && w.book.rate > 0 {
		w.balance.paceAt = float64(k.T)
	}
	if rate != w.book.rate {
		w.book.rate = rate
		w.book.steady = float64(w.law.SteadyRamp(rate).Density.At(w.area))
	}
	if k.Limit > 0 {
		return min(w.book.steady, float64(k.Limit))
	}
	return w.book.steady
}

// thickness by volts: the calibration's law at the density of the moment, never
// falling, since oxide only grows.
func (w *Watch) thickness(v, i float64) {
	film := float64(w.plan.Calibration.Offset) + w.law.NMPerVolt(w.density(i))*(v-w.series()*i)
	w.thick = max(w.thick, film)
}

// Stage tells which stage of the plan the ticks that follow belong to.
func (w *Watch) Stage(n int) {
	if n != w.stage {
		w.stage = n
		w.contact.reset()
		w.decay.reset()
		w.breaking.reset()
	}
}

// Trip is what the last tick showed that must end the run, "" for nothing.
func (w *Watch) Trip() fault.Code { return w.trip }

func (w *Watch) raise(code fault.Code) { w.trip = fault.First(w.trip, code) }

// Suspect tells whether a fall of the current is being judged right now. Nothing
// may count as the end of a hold meanwhile.
func (w *Watch) Suspect() bool {
	return !math.IsNaN(w.contact.goneSince) || !math.IsNaN(w.balance.lowSince)
}
