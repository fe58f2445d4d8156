package watch

import (
	"math"

	"anodized/profiles"
)

// Sight is what the share of a part that is lost, or whose contact opens for a moment, has
// to stand out of: a film, bath and leads, and the noise of the meters.
type Sight struct {
	Film      float64 // V across the film
	Softness  float64 // u of the law at this current
	Drop      float64 // V across bath and leads
	Rate      float64 // V/s that the film grows
	Volts     float64 // V, scatter of a reading of volts
	Gas       float64 // relative scatter of a reading of the current
	Step      float64 // relative step of the reading of the current
	LostShare float64 // the thresholds of the profile
	DipShare  float64
}

// The watch believes the scatter of gas larger than it is by so much until it has seen
// much of it, and knows its four unknowns about as well as one mean.
const (
	cautious = 0.002
	knows    = 2.0
)

// gas is the scatter that the watch believes, with that of the rounding.
func (s Sight) gas() float64 { return math.Hypot(s.Gas, roundedShare*s.Step) + cautious }

func (s Sight) whole() float64 { return s.Film/s.Softness + s.Drop }

// Fall is the relative fall of the whole current at the moment in which a share of the rack
// loses its contact: bath and leads hand the volts that it took to the rest.
func (s Sight) Fall(share float64) float64 { return share * s.Film / s.Softness / s.whole() }

// LeastLost is the least share of the rack whose loss is told within some two seconds.
// Smaller ones are blind.
func (s Sight) LeastLost() float64 {
	mean := math.Hypot(s.Volts*math.Sqrt(whiteInMean), math.Sqrt(gasInMean)*s.gas()*s.whole())
	threshold := balanceSigmas*knows*mean + balanceStep*s.Step*s.whole()
	return max(s.LostShare, threshold/(s.Film/s.Softness+s.Rate*growthJudged))
}

// LeastDips is the least share of the rack whose contact, as it opens and closes time and
// again, is told; a single dip must be dipSure times as deep.
func (s Sight) LeastDips() float64 {
	one := math.Hypot(s.Volts, s.gas()*s.whole())
	jump := max(dipSigmas*one/s.whole(), max(chatterShare*s.DipShare, blipSteps*s.Step))
	return jump / s.Fall(1)
}

// LeastDip is the same of a single dip.
func (s Sight) LeastDip() float64 { return dipSure * s.LeastDips() }

// Join is what parts that carry the film of an earlier run have to stand out of as they join
// the others: the level of the ramp before must be known, and the one after it be level.
type Join struct {
	Film     float64 // V that the earlier film was formed to
	Rest     float64 // u of the law at the current with which that ended
	Softness float64 // the same at the current of the ramp
	Drop     float64 // V that bath and leads take of it
	Rate     float64 // V/s of the ramp
	From     float64 // V, from which it climbs

	Share     float64 // of the rack that carries it
	Volts     float64 // V, scatter of a reading of the volts
	Gas       float64 // relative scatter of a reading of the current
	Paced     bool    // the current limit sets the pace of the ramp
	JoinShare float64 // the threshold of the profile
}

// joinSigmas is how often the scatter of two bins goes into what still counts as level: each
// next bin is another look.
const joinSigmas = 1.6

// times is how many times the volts of the end of the earlier run a film takes at the current
// of the ramp, before it carries its share: ln(I/I0) more of them, one in u each.
func (j Join) times() float64 { return j.Softness / j.Rest }

// Since are the volts at which the level before is known.
func (j Join) Since() float64 { return j.From + mixedSettles*j.Rate + mixedLevel*mixedWidth }

// At are the volts at which the earlier film carries half of its share.
func (j Join) At() float64 { return j.Film*j.times() + j.Drop }

// Told are the volts at which the rise is told: as the joining current grows it takes more of
// the volts in bath and leads, an e-fold of it once the whole of the law's slope has gone by.
// The bins of the new level stand where the scale has them, not where the rise ends.
func (j Join) Told() float64 {
	return max(mixedVolts, j.At()+j.Film/j.Softness+j.Drop+mixedLevel*mixedWidth)
}

// noise is the relative scatter of what is drawn in one bin: its ends are two readings of the
// film's volts, which gas moves by what bath and leads take, and by its own slope where the
// limit holds the current. Elsewhere gas moves the current, of which a bin holds some waves.
func (j Join) noise() float64 {
	moved, current := j.Gas*j.Drop, j.Gas*math.Sqrt(min(1, swayWave*j.Rate/mixedWidth))
	if j.Paced {
		moved, current = moved+j.Gas*j.Film/j.Rest, 0
	}
	return math.Hypot(math.Sqrt2*math.Hypot(j.Volts, moved)/mixedWidth, current)
}

// Clear tells whether the rise stands out of threshold and noise.
func (j Join) Clear() bool {
	rise := j.Share / (1 - j.Share)
	return rise > j.JoinShare && mixedFlat*rise > joinSigmas*math.Sqrt2*j.noise()
}

// Seen tells whether such parts are told in a ramp to these volts. Others are blind.
func (j Join) Seen(target float64) bool {
	return j.Since() <= j.At() && j.Told() <= target && j.Clear()
}

// Films are the least and the most volts of an earlier film whose joining is told.
func (j Join) Films(target float64) (least, most float64) {
	return (j.Since() - j.Drop) / j.times(), (target - 2*j.Drop - mixedLevel*mixedWidth) / (j.times() + 1/j.Softness)
}

// Crossing is what lifts the volts at which the current of a mere resistor beside a growing
// film seems to begin: the film still draws its share at the first point and none at half the
// limit.
type Crossing struct {
	Volts    float64 // V across the resistor at the limit
	Drop     float64 // V that the limit takes of bath and leads
	Softness float64
	Carried  float64 // V/s that the limit makes of a film on the whole area
	Step     float64 // V of the reading
	Scatter  float64 // V of a reading
	Tick     float64 // s between readings
	Gas      float64 // relative scatter of a reading of the current
}

// standsBelow is the share of Carried below which volts stand, where no profile moved it.
var standsBelow = profiles.Watch{}.Filled().StandsShare

// slopes are the scatters of a slope that the least of many in a row is off by.
const slopes = 3.0

// unseen is how much more the volts may climb than the wait shows, V/s: by a step that falls
// to its edge, and by the noise of a line.
func (c Crossing) unseen() float64 {
	return (c.Step + slopes*c.Scatter*math.Sqrt(12*c.Tick/standSeconds)) / standSeconds
}

// share of the limit that the film draws while the volts climb by what still counts as
// standing. They climb less than the film grows: as it grows it hands its current to the
// resistor, and with it what bath and leads took.
func (c Crossing) share() float64 {
	climbs := standsBelow + c.unseen()/c.Carried
	a := climbs * (1 + c.Drop/c.Volts)
	return (a + math.Sqrt(a*a+4*climbs/c.Softness)) / 2
}

// Lift is how far above zero the current seems to begin at most, V: the line through both
// points takes off what the volts show of the film, and doubles the noise of the first.
func (c Crossing) Lift() float64 { return (c.share() - standsBelow + 2*c.Gas) * c.Volts }

// Seen tells whether the resistor is told from metal that makes gas. Others are blind: either
// is a trip, and each is named as what the other may be taken for.
func (c Crossing) Seen() bool { return c.Lift() < max(splitsWater, leastShareOfVolts*c.Volts) }
