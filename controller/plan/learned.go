package plan

import (
	"fmt"
	"math"

	"anodized/hal/unit"
)

// Adopted is a wetted area that a person adopted for a rack, from what its good loads
// showed.
type Adopted struct {
	Area, SD   unit.SquareCentimetres // SD is that of one load
	Declared   unit.SquareCentimetres // by the rack, when it was adopted
	Loads      int
	By, Date   string
	Efficiency float64 // of the calibration that it was learned by; 0: that knew none
	Simulated  bool    // from loads of a virtual bench
}

// Learned is what the good loads of a rack say of its wetted area: the live area. A curve
// cannot tell area from efficiency, so it is the wetted area where the calibration knows
// the efficiency from the coupons of its ladder, and area over efficiency where it does
// not. It sets the current of the end where a person adopted it, and never the limit.
type Learned struct {
	Area  unit.SquareCentimetres `json:"area_cm2"`
	SD    unit.SquareCentimetres `json:"area_cm2_sd"` // of one load
	Loads int                    `json:"loads"`
	Used  bool                   `json:"sets_the_end"`
	By    string                 `json:"adopted_by,omitempty"`
	Date  string                 `json:"adopted_on,omitempty"`
	Why   string                 `json:"why"` // it does, or does not
}

// The codes of warnings about a learned area.
const (
	AreaAdopted        = "area-adopted"
	AdoptedAreaNotUsed = "adopted-area-not-used"
)

// A live area that is not within these shares of the declared one is no refinement of it:
// something else is wrong. Our choice.
const (
	leastShare = 0.5
	mostShare  = 2
)

// learned is nil where neither a history nor a person says anything.
func (d *draft) learned() *Learned {
	if a := d.Adopted; a != nil {
		l := &Learned{Area: a.Area, SD: a.SD, Loads: a.Loads, By: a.By, Date: a.Date}
		l.Why = d.unfit(*a)
		if l.Used = l.Why == ""; l.Used {
			l.Why = "adopted by a person"
		}
		return l
	}
	if d.History.Loads == 0 {
		return nil
	}
	share := d.History.Ramp
	return &Learned{Area: unit.SquareCentimetres(share.Mean) * d.area.Total, SD: unit.SquareCentimetres(share.SD) * d.area.Total,
		Loads: d.History.Loads, Why: "nobody adopted it, so the declared area sets the end"}
}

// unfit is why an area that was adopted does not set the end of this load; "" where it
// does.
func (d *draft) unfit(a Adopted) string {
	share := float64(a.Area / d.area.Total)
	switch {
	case d.Calibration.Book:
		return fmt.Sprintf("calibration %q is a book value, and a live area is only as true as its nm per volt", d.Calibration.ID)
	case a.Efficiency == 0 && d.Calibration.Efficiency > 0:
		return fmt.Sprintf("it is area over efficiency, and calibration %q knows the efficiency: adopt what the loads by that one show", d.Calibration.ID)
	case a.Simulated && !d.Simulated:
		return "it was learned from SIMULATED loads"
	case math.Abs(float64(a.Declared/d.area.Total)-1) > 1e-3:
		return fmt.Sprintf("the rack is another since: it was declared as %s then, and is %s now", show(a.Declared), show(d.area.Total))
	case !(share >= leastShare && share <= mostShare):
		return fmt.Sprintf("%s is not within %g and %g of the declared %s: look for what is wrong", show(a.Area), leastShare, float64(mostShare), show(d.area.Total))
	case unit.CurrentDensity(share)*d.Profile.End.CurrentDensity >= d.Profile.CurrentDensity:
		return "the end would lie above the current limit, which stays"
	}
	return ""
}

// adopt moves the end to the area that a person adopted. What the run sees is density on
// the declared area, so that goes with the current: the density on the adopted area, which
// decides the film, stays the one that was wanted.
func (d *draft) adopt(end *End) {
	if l := d.learned(); l != nil && l.Used && !(end.Time > 0) {
		share := float64(l.Area / d.area.Total)
		end.Current *= unit.Amperes(share)
		end.CurrentDensity *= unit.CurrentDensity(share)
	}
}

func (d *draft) warnOfLearned() []Warning {
	l := d.plan.Learned
	switch {
	case l == nil || d.Adopted == nil:
		return nil
	case l.Used:
		doubt := ""
		if d.Calibration.Efficiency == 0 {
			doubt = fmt.Sprintf("; calibration %q does not know what share of the charge its coupons kept, so charge that is lost counts as area: fit its ladder with the journal of its runs", d.Calibration.ID)
		}
		return []Warning{warn(AreaAdopted, "the end current is reckoned on %s, +-%s, which %s adopted on %s from %d good loads: %+.1f %% on the declared area; the current limit stays that of the declared one%s", show(l.Area), show(l.SD), l.By, l.Date, l.Loads, 100*(float64(l.Area/d.area.Total)-1), doubt)}
	}
	return []Warning{warn(AdoptedAreaNotUsed, "the area that %s adopted for this rack does not set its end: %s; the declared area does", l.By, l.Why)}
}
