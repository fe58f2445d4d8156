package campaign

import (
	"bytes"
	"encoding/json"

	"anodized/controller/record"
	"anodized/controller/replay"
)

// replay puts the rows of the record through the watch once more: the same numbers come
// out, bit for bit, and the same findings of the readings.
func (r *Report) replay() bool {
	kept := &r.Kept.Run
	if !r.Case.Replayed || r.Result.EnergisedSeconds == nil || len(kept.Rows) == 0 {
		return false
	}
	seen := replay.OfRun(*kept)
	if !seen.Seen {
		r.violate(replays, "no energised row in %d", len(kept.Rows))
		return true
	}
	seen.Close(r.Result.Outcome, r.Result.ByEye)
	margins := seen.Watch.Margins()
	r.Margins = &margins
	second := record.Result{}
	second.Fill(record.Numbers(seen.Watch.Summary()))
	first := numbersOf(r.Result)
	if a, b := said(first), said(second); !bytes.Equal(a, b) {
		r.violate(replays, "%s, then %s", a, b)
	}
	for _, f := range seen.Watch.Findings() {
		if !replay.Has(r.Result.Findings, f.Code) {
			r.violate(replays, "%s at %.1f s is found in the record alone", f.Code, f.AtSeconds)
		}
	}
	r.Kept.Run = record.Run{} // it has served
	return true
}

// numbersOf is a result with the numbers of its readings alone.
func numbersOf(of record.Result) record.Result {
	return record.Result{EndVolts: of.EndVolts, HighestVolts: of.HighestVolts, EndCurrent: of.EndCurrent, EndDensity: of.EndDensity,
		HoldSeconds: of.HoldSeconds, RampSeconds: of.RampSeconds, Charge: of.Charge, LiveArea: of.LiveArea,
		ThicknessByVolts: of.ThicknessByVolts, ThicknessByCharge: of.ThicknessByCharge, SeriesOhm: of.SeriesOhm, EnergisedSeconds: of.EnergisedSeconds}
}

func said(r record.Result) []byte {
	text, err := json.Marshal(r)
	if err != nil {
		return []byte(err.Error())
	}
	return text
}
