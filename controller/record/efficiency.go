package record

// Efficiency is what the coupons of a ladder say of the share of their charge that stays
// as film: it is as true as their declared area.
type Efficiency struct {
	Median float64  `json:"efficiency"`
	SD     float64  `json:"efficiency_sd"` // of one coupon, by the scatter of the coupons
	Runs   []string `json:"runs"`
}

// Known tells whether there were coupons enough to say how far one is from another.
func (e Efficiency) Known() bool { return len(e.Runs) >= LeastCoupons }

// LeastCoupons is how many coupons make an efficiency: our choice.
const LeastCoupons = 3
