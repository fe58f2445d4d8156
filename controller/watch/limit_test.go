package watch_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"anodized/controller/plan"
	"anodized/controller/watch"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// quick is eight spacers at 3 V/s, more than the limit of 5 mA/cm2 lets grow, after a
// contact check at 0.5 V/s.
func quick() plan.Plan {
	end := plan.End{Time: 20}
	return plan.Plan{Area: 224.0986, Parts: 8, SmallestPart: 24.97629, TargetVolts: 20, CurrentDensity: 5, CurrentLimit: 1.120493, End: end,
		ContactCheck: plan.ContactCheck{Volts: 8, Ramp: 0.5, NoContact: 0.01969},
		Law:          plan.Law{I0: 6e-14, B: 4.5001753e-6, KF: 530.6107, Efficiency: 1, NativeFilm: 1.5, Series: 2.409654},
		Stages:       []plan.Stage{{TargetVolts: 20, Ramp: 3, CurrentLimit: 1.120493, End: end}}}
}

// read takes the readings of a SIMULATED run from a file.
func read(t *testing.T, path string) []watch.Tick {
	t.Helper()
	file, err := os.Open(path)
	require.NoError(t, err)
	defer func() { require.NoError(t, file.Close()) }()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	ticks := make([]watch.Tick, 0, len(rows))
	for _, row := range rows[1:] {
		var x [4]float64
		for k := range x {
			x[k], err = strconv.ParseFloat(row[k], 64)
			require.NoError(t, err)
		}
		phase := map[string]watch.Phase{"2": watch.PhaseContactCheck, "3": watch.PhaseRamp}[row[5]]
		ticks = append(ticks, watch.Tick{T: unit.Seconds(x[0]), OK: true, Volts: unit.Volts(x[1]), Amperes: unit.Amperes(x[2]),
			Set: unit.Volts(x[3]), Limit: 1.120493, Limited: row[4] == "1", Phase: phase})
	}
	return ticks
}

// TestTheLimitTakesOverFromAFastRamp feeds the readings of good loads whose ramp had just
// become six times faster when the limit took over.
func TestTheLimitTakesOverFromAFastRamp(t *testing.T) {
	files, err := filepath.Glob("testdata/limit/*.csv")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, path := range files {
		t.Run(filepath.Base(path), func(t *testing.T) {
			w := watch.New(quick(), watch.Bench{Tick: 0.1, Settle: 0.15, VoltStep: 0.01, AmpereStep: 0.001})
			for _, k := range read(t, path) {
				w.Update(k)
				require.Empty(t, w.Trip(), "%.1f s, %.2f V: %v", k.T, k.Volts, w.Findings())
			}
			assert.NotEmpty(t, w.Findings())
		})
	}
}
