package journal

import (
	"errors"
	"math"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/controller/replay"
	"anodized/profiles"
)

// Efficiency looks again at the runs that coloured the coupons of a ladder, by the
// calibration that was fitted to them: a live area is area over efficiency, and of a
// coupon the area is known. A run that did not go well, or showed no live area, is left
// out.
func (r *Reader) Efficiency(runs []string, c profiles.Calibration) (found record.Efficiency, err error) {
	c.Efficiency = 0
	var all []float64
	for _, name := range runs {
		run, err := r.Run(name)
		if errors.Is(err, ErrDamaged) {
			continue // verify names it; it is no proof of anything
		}
		if err != nil {
			return found, err
		}
		if share := efficiencyOf(run, c); !math.IsNaN(share) {
			all, found.Runs = append(all, share), append(found.Runs, name)
		}
	}
	if len(all) > 0 {
		found.Median, found.SD = middle(all), plan.Shares(all).SD
	}
	return found, nil
}

// ofTheBook are warnings that a ladder is to answer: they speak of what was believed of the
// bath, not of the coupon's load.
var ofTheBook = append([]fault.Code{fault.AreaOverstated, fault.BathTemperatureOutside}, apart...)

func efficiencyOf(run record.Run, c profiles.Calibration) float64 {
	if !clean(run.Result, ofTheBook...) {
		return math.NaN()
	}
	law := run.Intent.Plan.Law.By(run.Intent.Metal.Growth, c)
	run.Intent.Plan.Law = law
	if _, live := replay.OfRun(run).Watch.Shares(); live > 0 {
		return law.Efficiency / live
	}
	return math.NaN()
}
