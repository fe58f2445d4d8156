package campaign

import (
	"math"

	"anodized/controller/fault"
)

// harmless are findings that say nothing against a load.
var harmless = map[fault.Code]bool{fault.LimitedByCurrent: true, fault.ContactNotProven: true}

// FalseFindings are the findings of a load in good order that the plant does not bear
// out. What it does bear out, a bath that warmed or an area stated too large, is not
// false.
func (r Report) FalseFindings() (list []fault.Code) {
	for _, f := range r.Result.Findings {
		if !harmless[f.Code] && !r.bornOut(f.Code) {
			list = append(list, f.Code)
		}
	}
	return list
}

// bornOut tells whether the plant was as a finding says, within the accuracy that the
// detector states.
func (r Report) bornOut(code fault.Code) bool {
	series := seriesOf(&r.Case) / float64(r.Plan.Law.Series)
	switch code {
	case fault.AreaOverstated:
		return trueShare(r) < 0.93
	case fault.AreaUnderstated:
		return trueShare(r) > 1.07
	case fault.BathResistanceHigh:
		return series > 1.5 || series*float64(r.Plan.Law.Series)*r.AtEnd.Amperes > 0.15
	case fault.BathResistanceLow:
		return series < 0.67
	case fault.BathTemperatureDrift:
		return r.Warmest-r.Coldest > 0.35
	case fault.BathTemperatureOutside:
		law := float64(r.Plan.BathWindow.Law)
		return math.Max(r.Warmest-law, law-r.Coldest) > 0.85
	case fault.ReadbackTooCoarse:
		return r.Case.Setup.Parameters.Meter.AmpereStep > float64(r.Plan.End.Current)/5
	}
	return false
}
