package campaign

import "anodized/controller/fault"

// Margin is how near a detector came to its threshold in loads in good order: the largest
// of statistic over threshold, 1 where it tells.
type Margin struct {
	Judged int     `json:"judged_runs"` // one in ten, whose rows are replayed
	Most   float64 `json:"most"`
	Seed   uint64  `json:"most_seed"`
}

// near takes the margins of a load.
func (h *HealthyRuns) near(e entry) {
	if e.margins == nil {
		return
	}
	for code, of := range map[fault.Code]float64{fault.ContactLost: e.margins.ContactLost,
		fault.Breakdown: e.margins.Breakdown, fault.ContactIntermittent: e.margins.Dips} {
		m := h.Margins[code]
		if m == nil {
			m = &Margin{}
			h.Margins[code] = m
		}
		if m.Judged++; of > m.Most {
			m.Most, m.Seed = of, e.seed
		}
	}
}
