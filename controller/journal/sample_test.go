package journal

import (
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// sampleIntent is a load of headset spacers.
func sampleIntent() record.Intent {
	return record.Intent{
		StartedAt: time.Date(2026, 3, 2, 9, 30, 0, 0, time.UTC),
		Plan: plan.Plan{ID: "0123abcd", Profile: "second-order purple", Rack: "eight headset spacers",
			Area: 222.5, TargetVolts: 70, CeilingVolts: 72, CurrentLimit: 1.1125,
			Law: plan.Law{I0: 6e-14, B: 4.5e-6, KF: 530.6107, Efficiency: 1, NativeFilm: 2}},
		Profile: profiles.Profile{Name: "second-order purple", Metal: "titanium-grade-5"},
		Rack:    profiles.Rack{Name: "eight headset spacers"},
		Metal:   profiles.Metal{ID: "titanium-grade-5"}, Bath: profiles.Bath{ID: "bicarbonate"},
		Supply: "SIMULATED supply", Simulated: true, TickSeconds: 0.1, Operator: "Ada", Version: "test",
	}
}

// sampleRows are n ticks of a ramp of 1 V/s as an instrument with steps of 10 mV
// and 1 mA reads it, from tick first on.
func sampleRows(first, n int) []record.Row {
	rows := make([]record.Row, n)
	for i := range rows {
		tick := float64(first + i)
		volts := math.Min(tick/10, 70)
		rows[i] = record.Row{T: unit.Seconds(tick / 10), Volts: unit.Volts(math.Round(100*volts-3*math.Abs(math.Sin(tick)))) / 100,
			Amperes: unit.Amperes(math.Round(900+8*math.Sin(3*tick))) / 1000, Set: unit.Volts(volts), Limit: 1.1125,
			Bath: unit.Celsius(math.NaN()), Mode: 2, State: 3, Output: 2}
	}
	return rows
}

func sampleResult() record.Result {
	return record.Result{Outcome: record.Complete, Simulated: true, EndVolts: record.Known(unit.Volts(69.98)), TargetVolts: record.Known(unit.Volts(70))}
}

func openSample(t *testing.T) (*Journal, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "state", "journal.db")
	return reopen(t, path), path
}

func reopen(t *testing.T, path string) *Journal {
	t.Helper()
	j, err := Open(path, Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, j.Close()) })
	return j
}

func appendAll(j *Journal, rows []record.Row) {
	for _, row := range rows {
		j.Append(row)
	}
}

// requireRows compares bits, so that NaN equals NaN and 0 is not -0.
func requireRows(t *testing.T, want, got []record.Row) {
	t.Helper()
	require.Len(t, got, len(want))
	for i := range want {
		for c, column := range floatColumns {
			w, g := math.Float64bits(*column(&want[i])), math.Float64bits(*column(&got[i]))
			if w != g {
				require.Equalf(t, w, g, "row %d, column %d", i, c)
			}
		}
		for c, column := range byteColumns {
			if w, g := *column(&want[i]), *column(&got[i]); w != g {
				require.Equalf(t, w, g, "row %d, column of bytes %d", i, c)
			}
		}
	}
}
