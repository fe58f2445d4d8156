package journal

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/controller/record"
	"anodized/hal/unit"
)

// TestReadingsOfTheVoltmeterComeBackExactly, and rows without one are written as before.
func TestReadingsOfTheVoltmeterComeBackExactly(t *testing.T) {
	rows := make([]record.Row, 40)
	for i := range rows {
		x := float64(i)
		rows[i] = record.Row{T: unit.Seconds(x / 10), Volts: unit.Volts(x / 7), Bath: unit.Celsius(math.NaN())}
	}
	without := encodeBatch(rows)
	require.Equal(t, byte(codecVersion), without[0])
	for i := range rows {
		if i%5 != 3 {
			rows[i].Meter = record.Meter{OK: true, Volts: unit.Volts(float64(i)/7 + 0.013), T: unit.Seconds(math.Floor(float64(i)/4)*0.4 - 0.2)}
		}
	}
	with := encodeBatch(rows)
	require.Equal(t, byte(codecMetered), with[0])
	back, err := decodeBatch(with)
	require.NoError(t, err)
	for i := range rows {
		require.Equal(t, rows[i].Meter, back[i].Meter, i)
		require.Equal(t, rows[i].Volts, back[i].Volts)
	}
	require.Less(t, len(with), len(without)+20*len(rows))
	back, err = decodeBatch(without)
	require.NoError(t, err)
	require.Equal(t, record.Meter{}, back[5].Meter)
	_, err = decodeBatch(sealed(with[:len(with)-30]...))
	require.ErrorIs(t, err, errBatch)
}
