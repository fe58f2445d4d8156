package journal

import (
	"database/sql"
	"math"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

func sampleCalibration(id string) record.KeptCalibration {
	return record.KeptCalibration{
		SavedAt: time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC), By: "Ada",
		Calibration: profiles.Calibration{ID: id, Metal: profiles.DefaultMetal, Finish: "blasted", Bath: "bicarbonate",
			Film: "TiO2-Jolivet-amorphous", Substrate: "Ti-Johnson", NMPerVolt: 2.031415926535897, Offset: 1.1, NMPerVoltSD: 0.004, OffsetSD: 0.2,
			Correlation: -0.84, EndCurrentDensity: 0.15, Softness: 24.6, SoftnessSD: 0.2, Date: "2026-03-02", FromVolts: 10, ToVolts: 95,
			RMSDE00: 0.6, Readings: 8, Simulated: true, Provenance: "SIMULATED ladder of eight coupons"},
		Readings: []profiles.ColourReading{sampleReading(45)},
	}
}

func sampleReading(volts float64) profiles.ColourReading {
	return profiles.ColourReading{Part: "headset spacer", Spot: "top", Volts: unit.Volts(volts), End: unit.CurrentDensity(math.NaN()),
		Lab:        &[3]float64{82.8, -9.3, 27.8},
		Conditions: profiles.Conditions{Instrument: "a sphere", Geometry: "d/8", Specular: "included", Illuminant: "D65", Observer: "2"}}
}

// asRead is a reading without what JSON does not say: NaN is no number that equals itself.
func asRead(r profiles.ColourReading) [3]float64 { return *r.Lab }

func finishedRun(t *testing.T, j *Journal) string {
	t.Helper()
	run, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	require.NoError(t, j.Finish(t.Context(), sampleResult()))
	return run
}

func TestCalibrationsAreKept(t *testing.T) {
	j, path := openSample(t)
	first, second := sampleCalibration("ladder-1"), sampleCalibration("ladder-2")
	require.NoError(t, j.SaveCalibration(first))
	require.NoError(t, j.SaveCalibration(second))
	all, err := j.Calibrations()
	require.NoError(t, err)
	require.Len(t, all, 2)
	assert.Equal(t, "ladder-2", all[0].Calibration.ID, "the newest first")
	r, err := OpenReadOnly(path)
	require.NoError(t, err)
	got, err := r.Calibration("ladder-1")
	require.NoError(t, err)
	assert.Equal(t, first.Calibration, got.Calibration, "to the bit")
	assert.Equal(t, asRead(first.Readings[0]), asRead(got.Readings[0]))
	assert.Equal(t, first.SavedAt, got.SavedAt)
	_, err = r.Calibration("ladder-3")
	require.ErrorIs(t, err, ErrNotKept)
	require.NoError(t, r.Close())
}

func TestACalibrationIsNeverOverwritten(t *testing.T) {
	j, _ := openSample(t)
	require.NoError(t, j.SaveCalibration(sampleCalibration("ladder-1")))
	again := sampleCalibration("ladder-1")
	again.Calibration.NMPerVolt = 1.9
	require.ErrorIs(t, j.SaveCalibration(again), ErrKept)
	require.ErrorIs(t, j.SaveCalibration(sampleCalibration("titanium-grade-5-book")), ErrKept, "an embedded one")
	got, err := j.Calibration("ladder-1")
	require.NoError(t, err)
	assert.Equal(t, 2.031415926535897, got.Calibration.NMPerVolt)
	for _, change := range []string{"UPDATE calibration SET body = x'7b7d'", "DELETE FROM calibration", "UPDATE area SET about = 'x'", "DELETE FROM reading"} {
		_, err := j.db.Exec(change)
		if change == "DELETE FROM reading" || change == "UPDATE area SET about = 'x'" {
			require.NoError(t, err, "no row, nothing to refuse")
			continue
		}
		require.ErrorContains(t, err, "never", change)
	}
}

// Nothing simulated ever feeds a plan for a real bench.
func TestACalibrationOfSimulatedRunsSaysSo(t *testing.T) {
	j, _ := openSample(t)
	run := finishedRun(t, j) // SIMULATED
	one := sampleCalibration("ladder-1")
	one.Runs, one.Calibration.Simulated = []string{run}, false
	require.ErrorIs(t, j.SaveCalibration(one), ErrRefused)
	one.Calibration.Simulated = true
	require.NoError(t, j.SaveCalibration(one))
	one.Calibration.ID, one.Runs = "ladder-2", []string{"77"}
	require.ErrorIs(t, j.SaveCalibration(one), ErrNoRun)
}

func TestCalibrationsThatNoLadderGave(t *testing.T) {
	j, _ := openSample(t)
	for name, spoil := range map[string]func(*profiles.Calibration){
		"slope":       func(c *profiles.Calibration) { c.NMPerVolt = math.NaN() },
		"id":          func(c *profiles.Calibration) { c.ID = "a ladder" },
		"no film":     func(c *profiles.Calibration) { c.Film = "" },
		"correlation": func(c *profiles.Calibration) { c.Correlation = -2 },
		"softness":    func(c *profiles.Calibration) { c.Softness = math.Inf(1) },
		"range":       func(c *profiles.Calibration) { c.FromVolts = 96 },
		"date":        func(c *profiles.Calibration) { c.Date = "yesterday" },
	} {
		one := sampleCalibration("ladder-1")
		spoil(&one.Calibration)
		require.ErrorIs(t, j.SaveCalibration(one), ErrRefused, name)
	}
	all, err := j.Calibrations()
	require.NoError(t, err)
	require.Empty(t, all)
}

func TestReadingsAttachToRuns(t *testing.T) {
	j, _ := openSample(t)
	first, second := finishedRun(t, j), finishedRun(t, j)
	require.NoError(t, j.SaveReadings(first, record.KeptReading{By: "Ada", Reading: sampleReading(70)}))
	require.NoError(t, j.SaveReadings("last", record.KeptReading{Reading: sampleReading(71)}, record.KeptReading{Reading: sampleReading(72)}))
	got, err := j.Readings("last")
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.Equal(t, []any{second, true, unit.Volts(71), "headset spacer", "d/8"},
		[]any{got[0].Run, got[0].Simulated, got[0].Reading.Volts, got[0].Reading.Part, got[0].Reading.Geometry})
	assert.True(t, math.IsNaN(float64(got[0].Reading.End)), "what was not known is not known")
	all, err := j.Readings("")
	require.NoError(t, err)
	require.Len(t, all, 3)
	require.ErrorIs(t, j.SaveReadings("9", record.KeptReading{Reading: sampleReading(1)}), ErrNoRun)
	require.ErrorIs(t, j.SaveReadings(first), ErrRefused)
	_, err = j.Readings("9")
	require.ErrorIs(t, err, ErrNoRun)
}

func TestReadingsAreTakenInWhileARunIsWritten(t *testing.T) {
	j, _ := openSample(t)
	first := finishedRun(t, j)
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	for i := range 20 {
		appendAll(j, sampleRows(10*i, 10))
		require.NoError(t, j.SaveReadings(first, record.KeptReading{Reading: sampleReading(70)}))
	}
	require.NoError(t, j.Finish(t.Context(), sampleResult()))
	found, err := j.Verify(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Problems)
	assert.Equal(t, Kept{Readings: 20}, found.Kept)
	run, err := j.Run("last")
	require.NoError(t, err)
	assert.Len(t, run.Rows, 200)
}

func TestAnAreaIsAPersonsWord(t *testing.T) {
	j, _ := openSample(t)
	run := finishedRun(t, j)
	one := record.AdoptedArea{By: "Ada", Rack: "eight headset spacers", Declared: 222.5, Area: 214, SD: 3, Loads: 6, Run: run, Calibration: "ladder-1"}
	nobody, nameless, nothing := one, one, one
	nobody.By, nameless.Rack, nothing.Area = "", "", 0
	for _, wrong := range []record.AdoptedArea{nobody, nameless, nothing} {
		require.ErrorIs(t, j.AdoptArea(wrong), ErrRefused)
	}
	require.NoError(t, j.AdoptArea(one))
	require.NoError(t, j.AdoptArea(record.AdoptedArea{By: "Ida", Rack: one.Rack, Withdrawn: true}))
	got, err := j.AdoptedAreas(one.Rack)
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.True(t, got[0].Withdrawn)
	assert.True(t, got[1].Simulated, "as its run is")
	other, err := j.AdoptedAreas("another")
	require.NoError(t, err)
	assert.Empty(t, other)
}

// tamper changes a closed journal as somebody with another tool might.
func tamper(t *testing.T, path string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path)
	require.NoError(t, err)
	for _, s := range statements {
		_, err := db.Exec(s)
		require.NoError(t, err, s)
	}
	require.NoError(t, db.Close())
}

func TestAnEntryThatWasChangedIsNotGivenBack(t *testing.T) {
	for name, row := range map[string]struct {
		statements []string
		problem    string
	}{
		"changed": {[]string{"DROP TRIGGER calibration_changed", "UPDATE calibration SET body = CAST(replace(CAST(body AS TEXT), '2.0314', '2.1314') AS BLOB) WHERE id = 1"}, "hash differs"},
		"renamed": {[]string{"DROP TRIGGER calibration_changed", "UPDATE calibration SET about = 'ladder-9' WHERE id = 1"}, "hash differs"},
		"removed": {[]string{"DROP TRIGGER calibration_removed", "DELETE FROM calibration WHERE id = 1"}, "number 1 before it is missing"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "journal.db")
			j, err := Open(path, Options{})
			require.NoError(t, err)
			require.NoError(t, j.SaveCalibration(sampleCalibration("ladder-1")))
			require.NoError(t, j.SaveCalibration(sampleCalibration("ladder-2")))
			require.NoError(t, j.Close())
			tamper(t, path, row.statements...)
			r := readOnly(t, path)
			found, err := r.Verify(t.Context())
			require.NoError(t, err)
			require.Len(t, found.Problems, 1)
			assert.Contains(t, found.Problems[0].Message, row.problem)
			assert.NotEmpty(t, found.Problems[0].Entry)
			if name != "removed" {
				_, err = r.Calibrations()
				require.ErrorIs(t, err, ErrDamaged)
			}
			wrong, err := wholeLook(t.Context(), path)
			require.NoError(t, err)
			assert.Empty(t, wrong, "a changed entry does not set the record of the runs aside")
		})
	}
}

func TestATableThatIsMissingIsDamage(t *testing.T) {
	path := recorded(t, 1)
	tamper(t, path, "DROP TABLE reading")
	found, err := readOnly(t, path).Verify(t.Context())
	require.NoError(t, err)
	require.Len(t, found.Problems, 1)
	assert.Contains(t, found.Problems[0].Message, "reading")
	assert.Empty(t, found.Problems[0].Entry)
}

func readOnly(t *testing.T, path string) *Reader {
	t.Helper()
	r, err := OpenReadOnly(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, r.Close()) })
	return r
}

func TestABackupHasAllOfIt(t *testing.T) {
	j, path := openSample(t)
	run := finishedRun(t, j)
	require.NoError(t, j.SaveCalibration(sampleCalibration("ladder-1")))
	require.NoError(t, j.SaveReadings(run, record.KeptReading{Reading: sampleReading(70)}))
	backup := filepath.Join(t.TempDir(), "backup.db")
	require.NoError(t, j.Backup(t.Context(), backup))
	elsewhere := filepath.Join(filepath.Dir(path), "restored.db")
	_, err := Restore(t.Context(), elsewhere, backup, false)
	require.NoError(t, err)
	again := reopen(t, elsewhere)
	found, err := again.Verify(t.Context())
	require.NoError(t, err)
	assert.Equal(t, Kept{Calibrations: 1, Readings: 1}, found.Kept)
	require.ErrorIs(t, again.SaveCalibration(sampleCalibration("ladder-1")), ErrKept)
}

// Whatever is put in, in any order, comes back in that order, and verifies.
func TestWhatIsKeptComesBack(t *testing.T) {
	t.Parallel()
	j, _ := openSample(t)
	kept := 0
	rapid.Check(t, func(r *rapid.T) {
		run := finishedRun(t, j)
		want := rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 1, 8).Draw(r, "volts")
		for _, v := range want {
			require.NoError(r, j.SaveReadings(run, record.KeptReading{Reading: sampleReading(v)}))
		}
		got, err := j.Readings(run)
		require.NoError(r, err)
		volts := make([]float64, len(got))
		for i := range got {
			volts[i] = float64(got[i].Reading.Volts)
		}
		require.True(r, slices.Equal(want, volts))
		kept += len(want)
	})
	found, err := j.Verify(t.Context())
	require.NoError(t, err)
	require.Empty(t, found.Problems)
	require.Equal(t, kept, found.Kept.Readings)
}
