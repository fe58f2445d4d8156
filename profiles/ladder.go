package profiles

import "anodized/hal/unit"

// Ladder is a ladder of coupons from its plan to its readings: what each coupon is
// coloured by, what came of it, and its colour.
type Ladder struct {
	ID             string // the word that its label and record name it by
	Metal, Bath    string
	Finish         string // of the coupons; "" is not said
	Rack           string // one coupon and what holds it: a name, or a file
	Ramp           unit.VoltsPerSecond
	CurrentDensity unit.CurrentDensity
	End            End
	Coupons        []Coupon
}

// Coupon is one step of a ladder. What has not happened yet is zero.
type Coupon struct {
	Volts     unit.Volts
	Run       string              // that coloured it
	End       unit.CurrentDensity // at the end of that run
	Simulated bool
	Lab       *[3]float64 // CIELAB, D65, 2 degree observer
}

// Profile is the profile of one coupon, from 0.
func (l Ladder) Profile(coupon int) Profile {
	return Profile{
		Name: l.CouponName(coupon), Metal: l.Metal, Bath: l.Bath, Target: Target{Volts: l.Coupons[coupon].Volts},
		Ramp: l.Ramp, CurrentDensity: l.CurrentDensity, End: l.End,
	}
}

// Simulated tells whether any of its coupons was coloured on a virtual bench.
func (l Ladder) Simulated() bool {
	for _, c := range l.Coupons {
		if c.Simulated {
			return true
		}
	}
	return false
}
