package plan

import (
	"fmt"

	"anodized/hal/unit"
)

// checkLeast refuses a load that needs less than the supply can be set to: its current
// limit would not hold, or its contact check would begin above its own volts.
func (d *draft) checkLeast() error {
	volts, amperes := d.Supply.LeastVolts, d.Supply.LeastAmperes
	switch check := d.plan.ContactCheck.Volts; {
	case d.limit < amperes:
		return fmt.Errorf("plan %q: %w: the current limit %s is below the %s that this supply can be set to: hang more area, or take another supply", d.Profile.Name, ErrBeyondSupply, show(d.limit), show(amperes))
	case check < volts:
		return fmt.Errorf("plan %q: %w: the contact check ends at %s, below the %s that this supply can be set to: take another supply", d.Profile.Name, ErrBeyondSupply, show(check), show(volts))
	}
	return nil
}

// warnOfLeast says what a supply does not do that cannot be set to nothing.
func (d *draft) warnOfLeast() []Warning {
	volts, amperes := d.Supply.LeastVolts, d.Supply.LeastAmperes
	if volts <= 0 && amperes <= 0 {
		return nil
	}
	return []Warning{warn(SupplyNotStarvable, "%s: if it does not obey off, nothing but the contactor, the emergency stop or its plug takes its power away", Unstarvable(volts, amperes))}
}

// Unstarvable says of a supply with such a least setpoint that it cannot be set to nothing.
func Unstarvable(volts unit.Volts, amperes unit.Amperes) string {
	switch {
	case amperes <= 0:
		return fmt.Sprintf("this supply cannot be set below %s", show(volts))
	case volts <= 0:
		return fmt.Sprintf("this supply cannot be limited below %s", show(amperes))
	}
	return fmt.Sprintf("this supply cannot be set below %s and %s", show(volts), show(amperes))
}
