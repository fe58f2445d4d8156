package journal

import (
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func ruin(t *testing.T, path string) {
	t.Helper()
	require.NoError(t, os.WriteFile(path, []byte("not a database, for certain, and of no use to anybody any more"), 0o600))
}

// After a damaged journal was set aside no run begins, however often the program starts,
// until a person has said that it is known.
func TestNothingRunsUntilADamagedJournalIsAcknowledged(t *testing.T) {
	path := recorded(t, 1)
	ruin(t, path)
	j, err := Open(path, inYear(2026))
	require.NoError(t, err)
	aside := j.Status().SetAside
	require.NotEmpty(t, aside)
	for range 3 {
		assert.Contains(t, j.Status().Waiting, aside)
		_, err = j.Begin(t.Context(), sampleIntent())
		require.ErrorIs(t, err, ErrUnacknowledged)
		require.ErrorContains(t, err, aside)
		require.ErrorContains(t, err, "anodized journal acknowledge")
		require.NoError(t, j.Close())
		j = reopen(t, path)
		assert.Empty(t, j.Status().SetAside, "the new one is sound")
	}
	known, err := Acknowledge(path, "Ida")
	require.NoError(t, err)
	assert.Contains(t, known, aside)
	_, err = j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err, "beside a journal that is open, too")
	again, err := Acknowledge(path, "Ida")
	require.NoError(t, err)
	assert.Empty(t, again)
	assert.FileExists(t, aside)
	note, err := os.ReadFile(aside + ".acknowledged")
	require.NoError(t, err)
	assert.Contains(t, string(note), `"acknowledged_by":"Ida"`)
}

func TestNoteThatCannotBeReadWaitsToo(t *testing.T) {
	path := recorded(t, 1)
	require.NoError(t, os.WriteFile(asidePath(path), []byte("{"), 0o600))
	j := reopen(t, path)
	_, err := j.Begin(t.Context(), sampleIntent())
	require.ErrorIs(t, err, ErrUnacknowledged)
	_, err = Acknowledge(path, "Ida")
	require.NoError(t, err)
	_, err = j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
}

func TestWholeLookIsDueOnceAWeek(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	now := time.Date(2026, 3, 2, 9, 30, 0, 0, time.UTC)
	assert.True(t, checkDue(path, now), "not known")
	require.NoError(t, noteChecked(path, now))
	for after, want := range map[time.Duration]bool{0: false, 6 * 24 * time.Hour: false, 7 * 24 * time.Hour: true, -2 * time.Hour: false, -48 * time.Hour: true} {
		assert.Equal(t, want, checkDue(path, now.Add(after)), after)
	}
}

// Damage that comes after the quick look of a start, or that one does not see, is found by
// the weekly one a minute later: no further run begins, and the next start sets
// the file aside.
func TestWeeklyLookFindsDamage(t *testing.T) {
	path := recorded(t, 3)
	require.NoError(t, os.Remove(checkedPath(path)))
	synctest.Test(t, func(t *testing.T) {
		j, err := Open(path, Options{})
		require.NoError(t, err)
		wear(t, j)
		_, err = j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		pass(2 * time.Minute)
		require.NoError(t, j.Finish(t.Context(), sampleResult()))
		_, err = j.Begin(t.Context(), sampleIntent())
		require.ErrorIs(t, err, ErrDamaged)
		require.ErrorContains(t, err, "start the program again")
		require.NoError(t, j.Close())
		j, err = Open(path, inYear(2026))
		require.NoError(t, err)
		assert.NotEmpty(t, j.Status().SetAside)
		assert.NoFileExists(t, unsoundPath(path))
		require.NoError(t, j.Close())
	})
}

// wear spoils the page from which the samples hang, on the disk alone.
func wear(t *testing.T, j *Journal) {
	t.Helper()
	var page int64
	require.NoError(t, j.Reader.db.QueryRow("SELECT rootpage FROM sqlite_schema WHERE name = 'sample'").Scan(&page))
	file, err := os.OpenFile(j.path, os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = file.WriteAt([]byte("worn out"), (page-1)*pageSize)
	require.NoError(t, err)
	require.NoError(t, file.Close())
}

func TestWeeklyLookAtASoundJournalIsNoted(t *testing.T) {
	path := recorded(t, 2)
	require.NoError(t, os.Remove(checkedPath(path)))
	synctest.Test(t, func(t *testing.T) {
		j, err := Open(path, Options{})
		require.NoError(t, err)
		pass(2 * time.Minute)
		assert.FileExists(t, checkedPath(path))
		_, err = j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		require.NoError(t, j.Close())
	})
}

func TestLongLoadsNeedMoreRoom(t *testing.T) {
	path := recorded(t, 2)
	j := reopen(t, path)
	assert.Equal(t, uint64(leastRoom), j.needed())
	info, err := os.Stat(path)
	require.NoError(t, err)
	j.options.LeastRoom = 1
	assert.Equal(t, 20*uint64(info.Size()/2), j.needed())
}

// A history that is gone is not shown as one that never was.
func TestEmptiedJournalIsADamagedOne(t *testing.T) {
	path := recorded(t, 1)
	require.NoError(t, os.Truncate(path, 0))
	j, err := Open(path, inYear(2026))
	require.NoError(t, err)
	assert.Contains(t, j.Status().Why, "was a journal once")
	assert.NotEmpty(t, j.Status().SetAside)
	require.NoError(t, j.Close())
}
