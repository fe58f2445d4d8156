package journal

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// decayed are the rows of a load by a law: contact check, ramp, and a minute of hold.
func decayed(p plan.Plan, law film.Law) (rows []record.Row) {
	x, volts, held := float64(p.Law.NativeFilm), 0.0, 0
	for n := 1; held < 600; n++ {
		state, rate := process.ContactCheck, 0.5
		if volts >= 8-1e-9 {
			state, rate = process.Ramping, 0.8
		}
		if volts >= 50-1e-9 {
			state, rate = process.Holding, 0
			held++
		}
		volts = math.Min(volts+rate/10, 50)
		for range 50 {
			x += law.KF * float64(law.Density(unit.Volts(volts), unit.Nanometres(x))) / 1000 * 0.1 / 50
		}
		amperes := float64(law.Density(unit.Volts(volts), unit.Nanometres(x)).At(p.Area))
		rows = append(rows, record.Row{T: unit.Seconds(n) / 10, Volts: unit.Volts(volts), Amperes: unit.Amperes(amperes),
			Set: unit.Volts(volts), Limit: 5, Bath: unit.Celsius(math.NaN()), State: uint8(state), Output: 2})
	}
	return rows
}

// The laws that titanium is thought to follow, softest to stiffest, each with 1.97 nm/V at
// 0.5 mA/cm2 (computed independently): u there, and i0.
var laws = map[string]struct{ u, i0, b float64 }{
	"soft":    {15.24, 1.2e-10, 3.0e-6},
	"central": {22.84, 6e-14, 4.5e-6},
	"stiff":   {30.44, 3e-17, 6.0e-6},
	"rigid":   {46.05, 5.0e-24, 9.072e-6},
}

// The controller believes in the usual constants, and sees the bath's own softness in
// its decays to 1.5 %.
func TestTheSoftnessOfABathFromItsDecays(t *testing.T) {
	for name, row := range laws {
		t.Run(name, func(t *testing.T) {
			j, _ := openSample(t)
			for range 3 {
				in, result := sampleIntent(), sampleResult()
				in.Plan = rackOfEight()
				_, err := j.Begin(t.Context(), in)
				require.NoError(t, err)
				appendAll(j, decayed(in.Plan, film.New(row.i0, row.b, in.Plan.Law.KF, 1)))
				require.NoError(t, j.Finish(t.Context(), result))
			}
			got, err := j.Softness(Decays{Metal: "titanium-grade-5", Bath: "bicarbonate", At: 0.5, Simulated: true})
			require.NoError(t, err)
			assert.Equal(t, []string{"3", "2", "1"}, got.Runs)
			assert.True(t, got.Known())
			assert.InEpsilon(t, row.u, got.Median, 0.015, fmt.Sprint(got))
			assert.Less(t, got.SD, 1e-6, "the same load thrice")
			lower, err := j.Softness(Decays{Metal: "titanium-grade-5", Bath: "bicarbonate", At: 0.15, Simulated: true})
			require.NoError(t, err)
			assert.InDelta(t, got.Median+math.Log(0.3), lower.Median, 0.01, "by the logarithm of the density")
		})
	}
}

func TestWhoseDecaysAreAsked(t *testing.T) {
	j, _ := openSample(t)
	for _, alter := range []func(*record.Intent, *record.Result){
		func(in *record.Intent, _ *record.Result) { in.Metal = profiles.Metal{ID: "niobium"} },
		func(in *record.Intent, _ *record.Result) { in.Bath = profiles.Bath{ID: "phosphate"} },
		func(_ *record.Intent, r *record.Result) { r.Outcome = record.Stopped },
		func(_ *record.Intent, r *record.Result) {
			r.Findings = []fault.Finding{{Code: fault.AreaOverstated, Severity: fault.Warning}}
		},
		asItWas,
	} {
		in, result := sampleIntent(), sampleResult()
		in.Plan = rackOfEight()
		alter(&in, &result)
		_, err := j.Begin(t.Context(), in)
		require.NoError(t, err)
		appendAll(j, decayed(in.Plan, film.New(6e-14, 4.5e-6, in.Plan.Law.KF, 1)))
		require.NoError(t, j.Finish(t.Context(), result))
	}
	load(t, j, 1, asItWas) // it never held: nothing to tell
	got, err := j.Softness(Decays{Metal: "titanium-grade-5", Bath: "bicarbonate", At: 0.5, Simulated: true})
	require.NoError(t, err)
	assert.Equal(t, []string{"5"}, got.Runs)
	assert.False(t, got.Known(), "one load is no spread")
	assert.Zero(t, got.SD)
	none, err := j.Softness(Decays{Metal: "titanium-grade-5", Bath: "bicarbonate", At: 0.5})
	require.NoError(t, err)
	assert.Empty(t, none.Runs, "no real one is there")
}
