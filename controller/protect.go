package controller

import (
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/hal/unit"
)

// protect sets the supply's own over-voltage trip for a load, before anything is
// energised: a second pair of eyes that does not need this computer. It is tried
// in each tick of checking until the supply holds it.
func (s *Station) protect(cmd process.Command) {
	o := &s.owner
	if s.protector == nil || o.protected || cmd.State != process.Checking || o.load == nil {
		return
	}
	ctx := s.exchange.begin(2)
	_, err := s.protector.SetOvervoltage(ctx, tripVolts(o.load.request.Plan))
	s.exchange.end()
	if err != nil {
		s.supplyFailed(&o.link, err)
		return
	}
	o.protected = true
}

// tripVolts stands clear of the target by 2 V or 3 %, and of the plan's ceiling,
// which the process watches itself, by half a volt: our choice.
func tripVolts(p plan.Plan) unit.Volts {
	return max(p.TargetVolts+max(2, 0.03*p.TargetVolts), p.CeilingVolts+0.5)
}

// isProtected tells whether the supply's own trip is set, or it has none.
func (s *Station) isProtected() bool { return s.protector == nil || s.owner.protected }
