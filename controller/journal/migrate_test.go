package journal

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
)

// oldJournal is a copy of one that the last program with version 1 wrote: two complete
// loads and one that tripped, SIMULATED.
func oldJournal(t *testing.T) string {
	t.Helper()
	content, err := os.ReadFile("testdata/version-1.db")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "journal.db")
	require.NoError(t, os.WriteFile(path, content, 0o600))
	return path
}

// whatIsIn reads all runs and verifies them.
func whatIsIn(t *testing.T, r *Reader) []record.Run {
	t.Helper()
	found, err := r.Verify(t.Context())
	require.NoError(t, err)
	require.Empty(t, found.Problems)
	require.Equal(t, []int{3, 3}, []int{found.Runs, found.Verified})
	var all []record.Run
	for _, name := range []string{"1", "2", "3"} {
		run, err := r.Run(name)
		require.NoError(t, err)
		require.NotEmpty(t, run.Rows)
		all = append(all, run)
	}
	return all
}

func TestAnOlderJournalIsReadAsItIs(t *testing.T) {
	path := oldJournal(t)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	r := readOnly(t, path)
	runs := whatIsIn(t, r)
	assert.Equal(t, []record.Outcome{record.Complete, record.Complete, record.Tripped},
		[]record.Outcome{runs[0].Result.Outcome, runs[1].Result.Outcome, runs[2].Result.Outcome})
	calibrations, err := r.Calibrations()
	require.NoError(t, err)
	readings, err := r.Readings("1")
	require.NoError(t, err)
	assert.Empty(t, calibrations)
	assert.Empty(t, readings)
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after, "who reads changes nothing")
}

func TestAnOlderJournalIsMigratedAfterABackup(t *testing.T) {
	path := oldJournal(t)
	before := whatIsIn(t, readOnly(t, path))
	j, err := Open(path, Options{})
	require.NoError(t, err)
	assert.Equal(t, Migration{From: 1, To: record.SchemaVersion, Backup: path + ".version-1"}, j.Status().Migrated)
	assert.Empty(t, j.Status().SetAside)
	assert.Equal(t, len(before), len(whatIsIn(t, j.Reader)))
	for i, run := range whatIsIn(t, j.Reader) {
		assert.Equal(t, before[i].Intent, run.Intent)
		assert.Equal(t, before[i].Result, run.Result)
		assert.Len(t, run.Rows, len(before[i].Rows))
		assert.Equal(t, before[i].Events, run.Events)
	}
	require.NoError(t, j.SaveCalibration(sampleCalibration("ladder-1")))
	require.NoError(t, j.Close())
	whatIsIn(t, readOnly(t, path+".version-1"))
	again := reopen(t, path)
	assert.Zero(t, again.Status().Migrated, "once")
	one, err := again.Calibration("ladder-1")
	require.NoError(t, err)
	assert.Equal(t, "ladder-1", one.Calibration.ID)
}

func TestABackupThatIsThereIsNotOverwritten(t *testing.T) {
	path := oldJournal(t)
	require.NoError(t, os.WriteFile(path+".version-1", []byte("somebody's"), 0o600))
	require.NoError(t, os.WriteFile(path+".version-1.making", []byte("of a migration that was cut off"), 0o600))
	j := reopen(t, path)
	assert.Equal(t, path+".version-1-2", j.Status().Migrated.Backup)
	kept, err := os.ReadFile(path + ".version-1")
	require.NoError(t, err)
	assert.Equal(t, "somebody's", string(kept))
}

func TestWithoutABackupNothingIsMigrated(t *testing.T) {
	path := oldJournal(t)
	require.NoError(t, os.MkdirAll(filepath.Join(path+".version-1.making", "in the way"), 0o700))
	_, err := Open(path, Options{})
	require.ErrorContains(t, err, "it is as it was")
	r := readOnly(t, path)
	whatIsIn(t, r)
	var version int
	require.NoError(t, r.db.QueryRow("SELECT user_version FROM pragma_user_version").Scan(&version))
	assert.Equal(t, 1, version)
}

// A version that the tables do not fit is damage, and the file is kept as it was.
func TestAVersionThatIsNotTrueIsDamage(t *testing.T) {
	path := recorded(t, 1)
	tamper(t, path, "PRAGMA user_version = 1")
	j := reopen(t, path)
	assert.NotEmpty(t, j.Status().SetAside)
	assert.Contains(t, j.Status().Why, "version")
}

// A journal of version 2, two loads and a colour reading, gets what came since; what it
// kept beside its runs is counted too, and is there afterwards.
func TestAJournalOfVersionTwoIsMigrated(t *testing.T) {
	content, err := os.ReadFile("testdata/version-2.db")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "journal.db")
	require.NoError(t, os.WriteFile(path, content, 0o600))
	before := readOnly(t, path)
	strips, err := before.Strips("1")
	require.NoError(t, err)
	assert.Empty(t, strips)
	was, err := before.Readings("1")
	require.NoError(t, err)
	require.Len(t, was, 1)
	j, err := Open(path, Options{})
	require.NoError(t, err)
	assert.Equal(t, Migration{From: 2, To: record.SchemaVersion, Backup: path + ".version-2"}, j.Status().Migrated)
	is, err := j.Readings("1")
	require.NoError(t, err)
	assert.Equal(t, was[0].SavedAt, is[0].SavedAt)
	assert.Equal(t, was[0].Reading.Lab, is[0].Reading.Lab)
	require.NoError(t, j.SaveStrip(record.Strip{By: "Ida", Run: "1"}))
	require.NoError(t, j.Close())
	found, err := readOnly(t, path).Verify(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Problems)
	assert.Equal(t, Kept{Readings: 1, Strips: 1}, found.Kept)
	copied, err := readOnly(t, path+".version-2").Verify(t.Context())
	require.NoError(t, err)
	assert.Empty(t, copied.Problems)
}

// A file that says it is newer than its tables is damage, whichever it lacks.
func TestATableThatTheVersionNeedsAndIsNotThere(t *testing.T) {
	path := recorded(t, 1)
	tamper(t, path, "DROP TABLE strip")
	found, err := readOnly(t, path).Verify(t.Context())
	require.NoError(t, err)
	require.Len(t, found.Problems, 1)
	assert.Contains(t, found.Problems[0].Message, "the table strip and the version 3")
}
