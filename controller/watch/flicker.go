package watch

import (
	"math"

	"anodized/controller/fault"
)

// flicker finds a balance that does not stand still. Current that no growth explains,
// and that comes in jumps, is a film that sparks: a part that regains its contact makes
// one jump and catches up, a leak that begins makes one and stays. Current that goes
// missing in a jump and comes back in one is a contact that opens and closes.
type flicker struct {
	was   [2]told // the readings before, the newest first
	mean  float64 // V, of the balance lately
	below float64 // since when that mean says that something draws what nothing grows from
	under bool    // the volts are below what was reached
	calm  float64 // s, until when such a fall says nothing: the growth has to learn what was bridged
	droop bool    // and the supply let them fall, not a film that sparks at the current limit
	open  float64 // since when current is missing; NaN while it is not
	gone  float64 // since when all of it is, while the volts stand; NaN while it is not
	base  float64 // V, of the balance before
	depth float64 // V, the most that was missing
	jump  float64 // V, that had to be, before the dip itself counts as noise
	paced float64 // s, when the current limit regulated last
	jumps moments
	dips  moments
}

// told is a reading whose balance was told, with what it is told from, since it is told
// anew as the growth learns: what was learned meanwhile is no jump. NaN t where there was
// none.
type told struct {
	t, v, i, l, q float64
	guess         float64 // C, how much of the charge gaps may have wrong
	h             [4]float64
}

func (f *flicker) reset() {
	*f = flicker{paced: math.Inf(-1), gone: math.NaN()}
	f.lost()
}

// lost forgets what a reading would be compared with.
func (f *flicker) lost() {
	f.was[0].t, f.was[1].t = math.NaN(), math.NaN()
	f.mean, f.below, f.open = 0, math.NaN(), math.NaN()
}

// The thresholds of a flicker.
const (
	chatterSeconds = 10.0 // s over which dips are counted
	sparkSeconds   = 4.0  // s
	longestSpark   = 0.3  // s, three times what one lasts, and more than a meter averages
	sparkVolts     = 15.0 // below it no film breaks down
	judgedVolts    = 12.0 // below it a part's share is not told from the start of the growth
	longestBlip    = 0.9  // s, with the lag of the meter; what lasts longer is a change, which others judge
	blipSteps      = 2.5  // of the reading: what is explained and what is read are each half a step off
	flickerMean    = 0.7  // s
	jumpSigmas     = 5.0  // of a reading and of how well the balance is known
	jumpShare      = 0.02 // of the whole current
	manyJumps      = 3    // within sparkSeconds, while more is drawn than grows
	fewJumps       = 2    // while it has been so for
	drawnSeconds   = 1.0  // s
	pacedLately    = 2.0  // s
	driftedVolts   = 0.02 // V, that noise adds
	dipSigmas      = 4.8  // of one reading; three such dips are none of noise
	chatterShare   = 0.7  // of dip share, for each of many
	dipSure        = 1.6  // times as deep, for a single one
	goneWithVolts  = 0.5  // of the current before
	dipAbove       = 0.4  // of the jump, above what the growth explains: the end of a spark comes back to it
	unevenNoise    = 2.0  // second differences show half of a noise that lasts
	unsureInDip    = 0.5
	unsureInSlope  = 0.4 // of the variance with which the slope of the law is known
)

// flickers takes the balance of a reading: the noise of one, V, how well the balance is
// known, V², and its threshold, V.
func (w *Watch) flickers(k Tick, s *sample, h [4]float64, noise, unsure, threshold float64) {
	f, g := &w.flicker, &w.balance.growth
	whole := g.whole(s.i)
	if w.paced(k) {
		f.paced = s.t
	}
	a, b := f.was[0], f.was[1]
	f.was = [2]told{{s.t, s.v, s.i, g.foldsOf(s.i), s.q, s.guess, h}, a}
	if math.IsNaN(a.t+b.t) || s.v < judgedVolts {
		f.mean, f.below, f.open = 0, math.NaN(), math.NaN()
		return
	}
	f.mean += (s.miss - f.mean) * min(1, (s.t-a.t)/flickerMean)
	if s.t-f.paced > pacedLately && math.Abs(s.v-b.v) > 1.5*float64(w.book.rate)*(s.t-b.t)+2.5*w.noiseV.step+driftedVolts {
		f.open = math.NaN() // the volts moved by themselves
		return
	}
	before, earlier := g.missing(a.v, a.i, a.l, a.q), g.missing(b.v, b.i, b.l, b.q)
	guessed := g.x[1] * (s.guess - b.guess) // V
	if jump := max(jumpSigmas*math.Sqrt(sq(noise)+unsure), jumpShare*whole) + guessed; before-s.miss > jump && s.miss < -jump && s.t >= f.calm && !w.drewAsMuch(s, 0.5*(before-s.miss)) {
		f.jumps.push(s.t)
	}
	w.drawsMore(s, threshold)
	for n := range h {
		h[n] -= b.h[n]
	}
	if n := &w.balance.noise; n.n >= enoughNoise {
		noise = min(noise, unevenNoise*n.sd()) // uneven ticks make the noise of volts and current larger, not that of the balance
	}
	noise = math.Sqrt(sq(noise) + unsureInSlope*w.balance.unsure(h))
	jump := max(dipSigmas*noise, max(chatterShare*w.most.DipShare, blipSteps*w.stepAmperes()/s.i)*whole) + guessed
	w.opens(k, s, min(before, earlier), max(before, earlier), jump, dipAbove*jump+unsureInDip*math.Sqrt(unsure))
}

// drewAsMuch tells whether as much was drawn lately for longer than a spark lasts: a contact
// that opened and closes comes back to that, and sparks fall back from all that they reach.
func (w *Watch) drewAsMuch(s *sample, within float64) bool {
	last := math.NaN() // of the readings in a row that show it
	for k := 1; k < w.ring.n; k++ {
		x := w.ring.at(k)
		switch {
		case s.t-x.t > sparkSeconds:
			return false
		case !(math.Abs(x.miss-s.miss) < within):
			last = math.NaN()
		case math.IsNaN(last):
			last = x.t
		case last-x.t >= longestSpark-1e-9:
			return true
		}
	}
	return false
}

// fell notes why the volts are below what was reached: where the supply let go of them, the
// current went with them, and where a film sparks it is what takes them down.
func (w *Watch) fell(k Tick, below bool) {
	f := &w.flicker
	if below && !f.under {
		f.droop = !w.paced(k) && w.ring.at(0).i < goneWithVolts*w.ring.at(1).i
	}
	f.under = below
	f.droop = f.droop && below
	if f.droop {
		f.calm = w.ring.at(0).t + balanceLag
	}
}

// drawsMore judges current that nothing grows from and that jumps.
func (w *Watch) drawsMore(s *sample, threshold float64) {
	f, n := &w.flicker, w.flicker.jumps.lately(s.t, sparkSeconds)
	contact := !math.IsNaN(f.open) || 2*f.dips.lately(s.t, sparkSeconds) >= max(n, 1)
	held := since(&f.below, s.t, f.mean < -threshold && s.v > sparkVolts && !contact && s.t >= f.calm)
	w.margin.sparks = max(w.margin.sparks, min(float64(n)/fewJumps, -f.mean/threshold))
	if held >= 0 && n >= manyJumps || held >= drawnSeconds-1e-9 && n >= fewJumps {
		w.found.say(fault.Breakdown, s.t, "likely", sparked, s.v, float64(n), sparkSeconds)
		w.raise(fault.Breakdown)
	}
}

// opens counts dips: from a jump above the least of the readings before, to one below the
// most of them.
func (w *Watch) opens(k Tick, s *sample, least, most, jump, above float64) {
	f := &w.flicker
	if !math.IsNaN(f.open) {
		f.depth = max(f.depth, s.miss-f.base)
	}
	switch {
	case math.IsNaN(f.open):
		if s.miss-least > jump && s.miss > above {
			f.open, f.depth, f.base, f.jump = s.t, s.miss-least, least, jump
		}
	case s.t-f.open > longestBlip+1e-9:
		f.open = math.NaN()
	case most-s.miss > f.jump:
		w.teachNothing(f.open, s.t)
		f.open = math.NaN()
		f.dips.push(s.t)
		w.dippedSo(k, s)
	}
}

// goesOut notes that the whole current is gone from one reading to the next while the volts
// stand, of which no balance tells: a rack on one hook that opened.
func (w *Watch) goesOut(s *sample) {
	f, was := &w.flicker, w.flicker.was[0]
	f.lost()
	f.calm = s.t + balanceLag // no spark takes the current away: what jumps as it comes back is a contact
	switch {
	case s.below || s.v < judgedVolts:
		f.gone = math.NaN()
	case math.IsNaN(f.gone) && s.i < goneShare*was.i && s.t-was.t < shortGap:
		f.gone = s.t
	}
}

// isBack counts it as a dip if it did so soon.
func (w *Watch) isBack(k Tick, s *sample) {
	f, whole := &w.flicker, w.balance.whole(s.i)
	if s.t-f.gone < longestBlip+1e-9 && !s.below {
		f.dips.push(s.t)
		f.depth, f.jump = whole, chatterShare*w.most.DipShare*whole
		w.dippedSo(k, s)
	}
	f.gone = math.NaN()
}

// teachNothing marks the readings of a dip before the growth learns from them.
func (w *Watch) teachNothing(from, to float64) {
	for k := range w.ring.n {
		s := w.ring.at(k)
		if s.t < from {
			return
		}
		s.dip = s.dip || s.t < to
	}
}

// dippedSo judges a dip that is over.
func (w *Watch) dippedSo(k Tick, s *sample) {
	f := &w.flicker
	jump := f.jump
	n := f.dips.lately(s.t, chatterSeconds)
	w.margin.dips = max(w.margin.dips, float64(n)/w.most.Dips)
	if (k.Phase == PhaseRamp || n >= 2) && f.depth > dipSure*jump {
		w.found.add(fault.ContactIntermittent, s.t, "likely", s.v, 100*dipSure*jump/w.balance.whole(s.i))
	}
	if float64(n) >= w.most.Dips {
		w.found.add(fault.ContactIntermittent, s.t, "likely", s.v, 100*jump/w.balance.whole(s.i))
		w.raise(fault.ContactIntermittent)
	}
}
