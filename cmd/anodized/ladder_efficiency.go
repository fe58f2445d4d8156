package main

import (
	"math"

	"anodized/controller/journal"
	"anodized/controller/record"
)

// openEfficiency takes the share of the charge that stays as film from the coupons' own
// runs, looked at again by the fit: then the live area of a rack is its wetted area, on
// the same terms as the coupons' declared one.
func (w *ladderFit) openEfficiency() error {
	if w.ran == "" || !w.good() {
		return nil
	}
	return w.ran.read(func(reader *journal.Reader) error {
		found, err := reader.Efficiency(w.runs, w.calibration)
		if err != nil {
			return err
		}
		n := len(found.Runs)
		if !found.Known() {
			w.note("%d good loads of this ladder show what share of their charge stays as film, at least %d are needed: it stays that of the metal's file, and the live area of a rack is one over efficiency", n, record.LeastCoupons)
			return nil
		}
		w.calibration.Efficiency, w.calibration.EfficiencySD = found.Median, found.SD/math.Sqrt(float64(n))
		w.note("%.3g +- %.2g of the charge stays as film, from %d coupons on their declared area: as true as that area", found.Median, w.calibration.EfficiencySD, n)
		return nil
	})
}
