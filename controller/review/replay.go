package review

import (
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/controller/replay"
	"anodized/controller/watch"
)

// cannotShowOhms is said where a curve gives no series resistance.
const cannotShowOhms = "the series resistance of leads and bath: too few readings, or a part that was lost, loose or coloured before spoils it"

// Point is what the readings had said by a moment. NaN: not known.
type Point = replay.Point

func estimatesOf(p plan.Plan, w *watch.Watch) Estimates {
	s, e := w.Summary(), w.Estimates()
	return Estimates{
		DeclaredArea: record.Known(p.Area), LiveArea: record.Known(s.LiveArea), SeriesOhm: record.Known(s.SeriesOhm),
		OnsetVolts: record.Known(e.OnsetVolts), Leak: record.Known(e.Leak), Charge: record.Known(s.Charge),
		ThicknessByVolts: record.Known(s.ThicknessByVolts), ThicknessByCharge: record.Known(s.ThicknessByCharge),
		EndVolts: record.Known(s.EndVolts), HighestVolts: record.Known(s.HighestVolts),
		EndCurrent: record.Known(s.EndCurrent), EndDensity: record.Known(s.EndDensity),
		RampSeconds: record.Known(s.RampSeconds), HoldSeconds: record.Known(s.HoldSeconds), EnergisedSeconds: record.Known(s.EnergisedSeconds),
	}
}
