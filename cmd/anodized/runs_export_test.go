package main

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
	"anodized/profiles"
)

// A curve has the readings of an independent voltmeter, each once, and is a curve file.
func TestACurveHasTheReadingsOfTheVoltmeter(t *testing.T) {
	rows := []record.Row{
		{T: 0, Volts: 8, Amperes: 0.5, Set: 8, Limit: 1, Bath: 21},
		{T: 0.1, Volts: 9, Amperes: 0.5, Set: 9, Limit: 1, Bath: 21, Meter: record.Meter{OK: true, Volts: 8.97, T: 0.08}},
		{T: 0.2, Volts: 9.1, Amperes: 0.5, Set: 9, Limit: 1, Bath: 21, Meter: record.Meter{OK: true, Volts: 8.97, T: 0.08}},
		{T: 0.3, Volts: 9.2, Amperes: 0.5, Set: 9, Limit: 1, Bath: 21, Meter: record.Meter{OK: true, Volts: 9.15, T: 0.29}},
	}
	var out bytes.Buffer
	require.NoError(t, writeCurve(&out, rows, columnsOf(record.Run{}, rows)))
	assert.Equal(t, "t_s,volts,amperes,set_volts,limit_amperes,bath_c,metered_volts\n0,8,0.5,8,1,21,\n"+
		"0.1,9,0.5,9,1,21,8.97\n0.2,9.1,0.5,9,1,21,\n0.3,9.2,0.5,9,1,21,9.15\n", out.String())
	curve, err := profiles.ReadCurve("run.csv", out.Bytes())
	require.NoError(t, err)
	assert.Equal(t, []float64{8.97, 9.15}, []float64{curve.Metered[1], curve.Metered[3]})
	assert.Equal(t, curveColumns[len(curveColumns)-1].name, columnsOf(record.Run{}, rows[:1])[len(curveColumns)-1].name)
	assert.Len(t, columnsOf(record.Run{}, rows[:1]), len(curveColumns), "none where there was none")
	whole := wholeRun(record.Run{Rows: rows})
	assert.Nil(t, whole.Rows[0].Metered)
	assert.InDelta(t, 9.15, *whole.Rows[3].Metered, 0)
}

// A time is a number of ticks, each a sum of tenths whose last bits say nothing.
func TestACurveHasItsTimesInMilliseconds(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, writeCurve(&out, curveRows([]record.Row{{T: 0.1 + 0.2}, {T: 0.3000001}, {T: 0.4004}}), curveColumns[:1]))
	assert.Equal(t, "t_s\n0.3\n0.4\n", out.String(), "no two at one moment")
}

// An export of a simulated run says so itself, below a header line that others can read.
func TestACurveOfTheVirtualBenchSaysSo(t *testing.T) {
	t.Parallel()
	b := newReviewBench(t)
	b.load("--profile", "pale yellow")
	out, _, status := b.do("runs", "export", "last", "--csv", "--journal", b.journal)
	require.Equal(t, statusDone, status)
	assert.True(t, strings.HasPrefix(out, "t_s,volts,amperes,set_volts,limit_amperes,bath_c,simulated\n"), out[:80])
	require.NoError(t, os.WriteFile(b.path("c.csv"), []byte(out), 0o600))
	assert.Equal(t, true, b.json("--curve", b.path("c.csv"), "--area", "200 cm2")["simulated"])
	shown, _, status := b.do("review", "--curve", b.path("c.csv"), "--area", "200 cm2", "--plot", b.path("c.svg"))
	require.Equal(t, statusDone, status)
	assert.True(t, strings.HasPrefix(shown, "SIMULATED\n"), shown)
	picture, err := os.ReadFile(b.path("c.svg"))
	require.NoError(t, err)
	assert.Contains(t, string(picture), "SIMULATED")
}
