package profiles

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func exampleLadder() Ladder {
	return Ladder{
		ID: "spring-2026", Metal: "titanium-grade-5", Bath: "bicarbonate", Finish: `fine "blasted"`, Rack: "one headset spacer",
		Ramp: 1, CurrentDensity: 5, End: End{CurrentDensity: 0.15, Sustained: 5, LeastHold: 5, LongestHold: 180},
		Coupons: []Coupon{
			{Volts: 15, Run: "20260302-101500-1", End: 0.1493, Simulated: true, Lab: &[3]float64{45.07, 18.2, 33.125}},
			{Volts: 18.5, Run: "20260302-102100-1", End: 0.15},
			{Volts: 100},
		},
	}
}

func TestLadderReadsBack(t *testing.T) {
	want := exampleLadder()
	got, err := ReadLadder("ladder.yaml", want.Text())
	require.NoError(t, err)
	assert.Equal(t, want, got)
	assert.True(t, got.Simulated())
	kind, err := Check("ladder.yaml", want.Text())
	require.NoError(t, err)
	assert.Equal(t, KindLadder, kind)
}

func TestProfileOfACouponReadsBack(t *testing.T) {
	want := exampleLadder().Profile(1)
	got, err := ReadProfile("coupon.yaml", want.Text())
	require.NoError(t, err)
	assert.Equal(t, want, got)
	assert.Equal(t, "spring-2026 coupon 2 of 3", got.Name)
	timed := want
	timed.End, timed.Ceiling, timed.Note = End{Time: 60}, 20, "by the clock"
	got, err = ReadProfile("coupon.yaml", timed.Text())
	require.NoError(t, err)
	assert.Equal(t, timed, got)
}

func TestLadderSaysWhatIsWrong(t *testing.T) {
	_, err := ReadLadder("ladder.yaml", []byte("ladder: x\nmetal: titanium-grade-5\nbath: bicarbonate\nrack: r\nramp: 1 V/s\ncurrent density: 0.1 mA/cm2\nend: {current density: 0.15 mA/cm2}\ncoupons:\n  - volts: 20\n"))
	require.Error(t, err)
	assert.ErrorContains(t, err, "ladder.yaml:9:12")
	assert.ErrorContains(t, err, "must be below the limit")
}

// Whatever a ladder file says: what is read is written so that it reads back the same.
func FuzzReadLadder(f *testing.F) {
	f.Add(exampleLadder().Text())
	f.Add([]byte("ladder: x\ncoupons:\n  - volts: 20 V\n    Lab: [1, 2]\n"))
	f.Fuzz(func(t *testing.T, content []byte) {
		one, err := ReadLadder("ladder.yaml", content)
		if err != nil {
			return
		}
		two, err := ReadLadder("ladder.yaml", one.Text())
		require.NoError(t, err, "%s", one.Text())
		require.Equal(t, one, two)
	})
}
