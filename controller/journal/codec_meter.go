package journal

import (
	"math"
	"slices"

	"anodized/controller/record"
	"anodized/hal/unit"
)

// metered tells whether the voltmeter had a reading in one of these rows.
func metered(rows []record.Row) bool {
	return slices.ContainsFunc(rows, func(r record.Row) bool { return r.Meter.OK })
}

// appendMeter codes the readings of the voltmeter, in room for as many values as rows.
func appendMeter(out []byte, rows []record.Row, values []float64) []byte {
	for _, column := range []func(record.Meter) float64{
		func(m record.Meter) float64 { return float64(m.Volts) },
		func(m record.Meter) float64 { return float64(m.T) },
	} {
		for i := range rows {
			if values[i] = math.NaN(); rows[i].Meter.OK {
				values[i] = column(rows[i].Meter)
			}
		}
		out = appendColumn(out, values)
	}
	return out
}

func readMeter(in []byte, rows []record.Row) ([]byte, error) {
	volts, in, err := readColumn(in, len(rows))
	if err != nil {
		return nil, err
	}
	times, in, err := readColumn(in, len(rows))
	if err != nil {
		return nil, err
	}
	for i := range rows {
		if !math.IsNaN(volts[i]) {
			rows[i].Meter = record.Meter{OK: true, Volts: unit.Volts(volts[i]), T: unit.Seconds(times[i])}
		}
	}
	return in, nil
}
