package watch

import (
	"math"

	"anodized/hal/unit"
)

// balance holds the volts against the charge. A film that carries a current I takes
// volts in proportion to its thickness, and the charge tells how much thicker it grew:
//
//	V = R I + (1 + a ln(I/I1)) z      dz = b dQ
//
// with z the thickness in volts at a current I1, b one over the area that grows (V/C), a
// one over the softness u of the law at I1. It is the law of area.go, and it holds in
// ramps at any pace, at the current limit, through the bend into a hold, in the hold, and
// while volts dip or wait. Film that lost its contact breaks it: the current falls at once
// by what bath and leads let it, and from then on the film that is left grows faster than
// the charge on all of it explains. What is missing of the volts is judged.
type balance struct {
	growth
	behind   int // readings of the ring that the growth does not know yet
	missed   missed
	lowSince float64 // since when volts are missing; NaN while they are not
	paceAt   float64 // s, when the pace rose last
	moreAt   float64 // s, when more was drawn than is explained
	moreFrom float64 // s, since when it is so
	more     float64 // V, the most of it
	most     float64 // V, of the newest quarter second, in the fall that is judged
	noise    noise   // of the missing volts, which no uneven tick makes larger as it does that of the volts
	least    float64 // share of the rack whose loss would be seen now; NaN: none
	judged   float64 // s above the volts from which a part is judged
	blind    float64 // s of these in which the loss of the smallest would not be seen
}

func (b *balance) reset() {
	*b = balance{lowSince: math.NaN(), least: math.NaN(), moreAt: math.Inf(-1), moreFrom: math.NaN(), paceAt: math.Inf(-1)}
}

// How the balance is judged.
const (
	balanceLag     = 2.0 // s that the growth stays behind, so that what is judged does not bend what it is judged by
	balanceFrom    = 2.0 // V, before which the native film is not through
	balanceSteps   = 5   // of the reading that a current must be worth
	balanceMean    = 0.5 // s of the judged mean
	balanceNow     = 0.25
	balanceBack    = 0.6              // of the most that was missing in this fall: what is lost does not come back by itself
	moreShare      = 0.5              // of the threshold, the other way: something else draws, or a meter steps, and what is known is off
	paceSeconds    = balanceLag + 1.5 // s after a pace that rose: what a coulomb makes at it
	moreSeconds    = 5.0              // s until it is known again
	moreBack       = 2.0              // times as much, that missing volts may be of its end
	balanceSigmas  = 6.0              // see lost share in profiles/watch.go
	leastScatter   = 0.7              // of the computed one, whatever was learned: noise of gas is counted cautiously
	mostScatters   = 5                // of the computed one, that one mean may teach
	stillReached   = 0.99             // of the highest volts, less
	fallenVolts    = 0.2              // V
	fallInRamp     = 0.7              // s; a dip of half a second is none
	fallInHold     = 0.5
	growthJudged   = 1.0 // s of growth on film that is not there, that a lost part is told by
	balanceStep    = 1.0 // of the current reading, by which a current that hardly moves may be off
	gasInMean      = 0.6 // of the variance of gas that a mean of half a second keeps
	whiteInMean    = 1.0 / 3
	gasInRow       = 5 // readings that share one wave of gas
	roundedShare   = 0.4
	enoughNoise    = 20
	mostVoltsNoise = 0.02 // V above a step: more is the course that turns, not noise
)

// missed learns how much the judged mean scatters, in computed scatters, while nothing
// happens: what is being judged now is left out.
type missed struct {
	waiting [48]struct{ t, x float64 }
	in, out int
	power   float64 // running mean square
	n       float64
}

func (m *missed) push(t, x float64) {
	size := len(m.waiting)
	m.waiting[m.in%size] = struct{ t, x float64 }{t, x}
	m.in++
	m.out = max(m.out, m.in-size)
	for m.out < m.in && t-m.waiting[m.out%size].t >= judgedAfter {
		old := m.waiting[m.out%size].x
		m.n = min(m.n+1, memory)
		m.power += (old*old - m.power) / m.n
		m.out++
	}
}

// scatter is what the mean scatters by; as computed until enough has been seen.
func (m *missed) scatter() float64 {
	const enough = 40
	if m.n >= enough {
		return math.Sqrt(m.power)
	}
	return math.Sqrt((m.power*m.n + enough - m.n) / enough)
}

// catchUp lets the growth take the readings that are old enough.
func (w *Watch) catchUp(now float64) {
	b := &w.balance
	b.behind = min(b.behind+1, w.ring.n)
	for b.behind > 0 {
		s := w.ring.at(b.behind - 1)
		if now-s.t < balanceLag-1e-9 {
			return
		}
		b.behind--
		if w.growing(s) && !s.dip {
			white, gas := w.noiseOf(s)
			b.take(s, w.even(b.behind, s.i), white+gasInRow*gas)
		}
	}
}

// growing tells whether a reading shows a film that grows.
func (w *Watch) growing(s *sample) bool {
	return s.v > balanceFrom && s.i > balanceSteps*w.stepAmperes() && s.i > leastOfRamp*w.balance.one
}

// noiseOf is the variance of one reading, V²: what does not last from one to the next, and
// what does.
func (w *Watch) noiseOf(s *sample) (white, gas float64) {
	share := math.Hypot(w.sway.relative(), roundedShare*w.stepAmperes()/s.i)
	volts := min(w.noiseV.sd(), w.noiseV.step+mostVoltsNoise)
	if b := &w.balance; b.noise.n >= enoughNoise {
		volts = min(volts, b.noise.sd())
	}
	volts = max(w.noiseV.step/3, volts)
	return sq(volts), sq(w.balance.whole(s.i) * share)
}

// balanced is the detector's share of a tick.
func (w *Watch) balanced(k Tick) {
	b, s, now := &w.balance, w.ring.at(0), float64(k.T)
	w.catchUp(now)
	w.fell(k, s.below)
	if b.one == 0 {
		if w.expected > 0 && s.v > balanceFrom && s.i > 0.3*w.expected {
			w.beginGrowth(s)
			b.behind = 0
		}
		return
	}
	b.least = math.NaN()
	if !w.growing(s) {
		b.lowSince = math.NaN()
		w.goesOut(s)
		return
	}
	w.isBack(k, s)
	miss, h := b.row(s)
	if w.pause.long > now-balanceLag { // the charge of a gap is a guess
		b.lowSince = math.NaN()
		return
	}
	s.miss = miss
	b.noise.push(miss)
	if m := w.meanMiss(now); !math.IsNaN(m.mean + m.lately) {
		w.weigh(k, s, h, m)
	}
}

// weigh judges the mean of what is missing, and what the newest reading adds to it.
func (w *Watch) weigh(k Tick, s *sample, h [4]float64, m means) {
	b, now, mean, lately := &w.balance, s.t, m.mean, m.lately
	white, gas := w.noiseOf(s)
	if !w.paced(k) { // at the limit the volts answer the current
		h = b.foretold(s, h)
	}
	unsure := b.unsure(h)
	sigma := math.Sqrt(unsure + max(whiteInMean, 1/m.readings)*white + gasInMean*gas)
	b.missed.push(now, max(-mostScatters, min(mostScatters, mean/sigma)))
	sigma *= max(leastScatter, b.missed.scatter())
	part := b.part(s.i) // V that the loss of all would be missing after a second
	threshold := balanceSigmas*sigma + balanceStep*w.stepAmperes()/s.i*b.whole(s.i) + b.x[1]*w.guessedLately()
	b.least = threshold / part
	threshold = max(threshold, max(w.most.LostShare, w.share())*part)
	known := b.knows(now, mean, threshold)
	if !(mean > threshold) {
		b.most = 0
	}
	b.most = max(b.most, lately)
	is := mean > threshold && lately > balanceBack*b.most && s.v > judgedVolts && !s.below && known
	w.margin.lost = max(w.margin.lost, mean/threshold)
	w.flickers(k, s, h, math.Sqrt(white+gas), unsure, threshold)
	if since(&b.lowSince, now, is) >= fallSeconds(k)-1e-9 {
		w.lost(now, "likely", 1-min(1, mean/part), s.v)
	}
}

// knows tells whether nothing else drew or stepped lately, nor the pace rose, that the growth
// has to learn first. Until it has begun to, what is missing by more than that drew is a part.
func (b *balance) knows(now, mean, threshold float64) bool {
	if now-b.moreAt >= moreSeconds {
		b.moreFrom, b.more = math.NaN(), 0
	}
	if mean < -moreShare*threshold {
		b.moreAt, b.more = now, max(b.more, -mean)
		since(&b.moreFrom, now, true)
	}
	learns := now-b.moreAt < moreSeconds
	if learns || now-b.paceAt < paceSeconds {
		b.least = math.NaN()
	}
	unlearned := now-b.moreFrom < balanceLag && mean > threshold+moreBack*b.more
	return now-b.paceAt >= paceSeconds && (!learns || unlearned)
}

func fallSeconds(k Tick) float64 {
	if k.Phase == PhaseHold {
		return fallInHold
	}
	return fallInRamp
}

// means are those of what is missing, V.
type means struct{ mean, lately, readings float64 }

// meanMiss are the means of the newest half and quarter second.
func (w *Watch) meanMiss(now float64) means {
	sum, n, late, m := 0.0, 0.0, 0.0, 0.0
	for k := range w.ring.n {
		s := w.ring.at(k)
		age := now - s.t
		if age > balanceMean+1e-9 {
			break
		}
		sum, n = sum+s.miss, n+1
		if age <= balanceNow+1e-9 {
			late, m = late+s.miss, m+1
		}
	}
	return means{sum / n, late / m, n}
}

// guessedLately is how much of the charge that the growth does not know yet is a guess, C.
func (w *Watch) guessedLately() float64 {
	return w.ring.at(0).guess - w.ring.at(min(w.balance.behind, w.ring.n-1)).guess
}

// beginGrowth states what is expected of the growth.
func (w *Watch) beginGrowth(s *sample) {
	one := w.expected
	j := unit.Amperes(one).Over(w.area)
	w.balance.begin(s, one, w.series(), w.law.Softness(j), w.law.KF*w.law.Efficiency/(w.decl*w.law.NMPerVolt(j)))
}

// even is the current of a reading as those before and after it have it: its own noise
// must not look like a change that the volts do not answer.
func (w *Watch) even(m int, amperes float64) float64 {
	n := int(math.Round(evenSeconds / max(0.1, float64(w.bench.Tick))))
	if m-n < 0 || m+n >= w.ring.n {
		return amperes
	}
	x := (w.ring.at(m-n).i + w.ring.at(m-n+1).i + w.ring.at(m+n).i + w.ring.at(m+n-1).i) / 4
	if !(math.Abs(x-amperes) < evenMost*w.sway.relative()*amperes+w.stepAmperes()) {
		return amperes // it did change
	}
	return x
}
