package review

import (
	"fmt"
	"math"

	"anodized/controller/record"
	"anodized/controller/replay"
)

// differences lists the numbers of the result line that the replay does not give.
func differences(res record.Result, r *replay.Replay) []string {
	if !ended(res.Outcome) || res.Outcome == record.Refused {
		return nil
	}
	var now record.Result
	now.Fill(r.Watch.Summary())
	var out []string
	for _, pair := range []struct {
		name         string
		record, here *float64
	}{
		{"end_volts", res.EndVolts, now.EndVolts}, {"end_current_amperes", res.EndCurrent, now.EndCurrent},
		{"end_current_density_ma_cm2", res.EndDensity, now.EndDensity}, {"hold_seconds", res.HoldSeconds, now.HoldSeconds},
		{"ramp_seconds", res.RampSeconds, now.RampSeconds}, {"charge_coulombs", res.Charge, now.Charge},
		{"live_area_cm2", res.LiveArea, now.LiveArea}, {"thickness_by_volts_nm", res.ThicknessByVolts, now.ThicknessByVolts},
		{"thickness_by_charge_nm", res.ThicknessByCharge, now.ThicknessByCharge}, {"series_ohm", res.SeriesOhm, now.SeriesOhm},
	} {
		if !same(pair.record, pair.here) {
			out = append(out, fmt.Sprintf("%s: %s recorded, %s now", pair.name, shown(pair.record), shown(pair.here)))
		}
	}
	return out
}

func same(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return math.Abs(*a-*b) <= 1e-9*math.Max(math.Abs(*a), math.Abs(*b))
}

func shown(v *float64) string {
	if v == nil {
		return "not known"
	}
	return fmt.Sprintf("%.6g", *v)
}
