package review

import (
	"math"

	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Curve is a curve from elsewhere as rows with the times of its file and no states
// yet. What a row lacks is NaN.
type Curve struct {
	Rows      []record.Row
	HasSet    bool
	HasLimit  bool
	Simulated bool
}

// NewCurve takes a curve file as it was read: two rows or more, times rising.
func NewCurve(c profiles.Curve) Curve {
	rows := make([]record.Row, len(c.Seconds))
	for i := range rows {
		rows[i] = record.Row{T: unit.Seconds(c.Seconds[i]), Volts: unit.Volts(c.Volts[i]), Amperes: unit.Amperes(c.Amperes[i]),
			Set: unit.Volts(at(c.Set, i)), Limit: unit.Amperes(at(c.Limit, i)), Bath: unit.Celsius(at(c.Bath, i))}
	}
	return Curve{Rows: rows, HasSet: c.Set != nil, HasLimit: c.Limit != nil, Simulated: c.Simulated}
}

func at(column []float64, i int) float64 {
	if i < len(column) {
		return column[i]
	}
	return math.NaN()
}
