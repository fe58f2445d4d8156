package journal

import (
	"bytes"
	"database/sql"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
)

var (
	journalDamage  = flag.Int("journal-damage", 60, "how many damaged journals TestFlippedBytes and TestLogCut read")
	journalFigures = flag.String("journal-figures", "", "file for the figures of the flipped bytes, as JSON")
)

// recorded makes a journal of n finished runs and gives its path.
func recorded(t *testing.T, n int) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "journal.db")
	j, err := Open(path, Options{})
	require.NoError(t, err)
	for range n {
		_, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		appendAll(j, sampleRows(0, 300))
		j.Note(record.Event{T: 1, Kind: "state", Code: "ramping"})
		require.NoError(t, j.Finish(t.Context(), sampleResult()))
	}
	require.NoError(t, j.Close())
	return path
}

func inYear(year int) Options {
	return Options{Now: func() time.Time { return time.Date(year, 3, 2, 9, 30, 0, 0, time.UTC) }}
}

func TestDamagedJournalIsSetAsideAndKept(t *testing.T) {
	path := recorded(t, 3)
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	for round, want := range []string{".damaged-20260302T093000Z", ".damaged-20260302T093000Z-2"} {
		damagedBytes := append([]byte("not a database, for certain"), whole[27+round:]...)
		require.NoError(t, os.WriteFile(path, damagedBytes, 0o600))
		_, err := OpenReadOnly(path)
		require.ErrorIs(t, err, ErrDamaged)
		j, err := Open(path, inYear(2026))
		require.NoError(t, err)
		assert.Equal(t, path+want, j.Status().SetAside)
		assert.Contains(t, j.Status().Why, "damaged")
		list, err := j.Runs(Filter{})
		require.NoError(t, err)
		assert.Empty(t, list)
		require.NoError(t, j.Close())
		kept, err := os.ReadFile(path + want)
		require.NoError(t, err)
		assert.Equal(t, damagedBytes, kept)
	}
}

// The number of the schema format is in the header; the database has no code for one that
// it does not know.
func TestAHeaderOfNoFormatIsDamage(t *testing.T) {
	path := recorded(t, 1)
	content, err := os.ReadFile(path)
	require.NoError(t, err)
	content[47] = 0x50
	require.NoError(t, os.WriteFile(path, content, 0o600))
	require.Equal(t, 1, requireKept(t, path, content))
}

// Whatever bytes are flipped, what the journal gives back is what was written, or
// an error.
func TestFlippedBytesAreNeverReadAsGood(t *testing.T) {
	t.Parallel()
	path := recorded(t, 2)
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	random := rand.New(rand.NewPCG(7, 7))
	refused, aside, count := 0, 0, rounds(t, *journalDamage)
	for range count {
		copied := filepath.Join(t.TempDir(), "journal.db")
		flipped := append([]byte{}, whole...)
		for range 1 + random.IntN(3) {
			flipped[random.IntN(len(flipped))] ^= byte(1 + random.IntN(255))
		}
		if random.IntN(10) == 0 {
			flipped = flipped[:random.IntN(len(flipped))]
		}
		require.NoError(t, os.WriteFile(copied, flipped, 0o600))
		refused += requireHonest(t, copied)
		aside += requireKept(t, copied, flipped)
	}
	assert.Positive(t, refused)
	assert.Positive(t, aside)
	if *journalFigures != "" {
		text := fmt.Sprintf(`{"test": "damage", "rounds": %d, "counts": {"runs refused": %d, "journals set aside": %d, "read as good though not": 0}, "most": {}}`+"\n", count, refused, aside)
		require.NoError(t, os.WriteFile(*journalFigures, []byte(text), 0o644))
	}
}

// requireKept opens a damaged journal as a start does. It is set aside as it is, bytes and
// all, and no run begins; or its damage is where only the reading of a run sees it, or
// nowhere. It returns 1 where it was set aside.
func requireKept(t *testing.T, path string, content []byte) int {
	t.Helper()
	j, err := Open(path, Options{})
	if err != nil { // another program's, by its number, or a newer one
		require.True(t, errors.Is(err, ErrForeign) || errors.Is(err, ErrNewerSchema), "%v", err)
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		require.True(t, bytes.Equal(content, after), "untouched")
		return 0
	}
	defer func() { require.NoError(t, j.Close()) }()
	aside := j.Status().SetAside
	if aside == "" {
		return 0
	}
	kept, err := os.ReadFile(aside)
	require.NoError(t, err)
	require.True(t, bytes.Equal(content, kept), "the damaged file is as it was")
	_, err = j.Begin(t.Context(), sampleIntent())
	require.ErrorIs(t, err, ErrUnacknowledged)
	return 1
}

// requireHonest returns how many of the two runs could not be read.
func requireHonest(t *testing.T, path string) (refused int) {
	t.Helper()
	reader, err := OpenReadOnly(path)
	if err != nil {
		return 2
	}
	defer func() { require.NoError(t, reader.Close()) }()
	found, err := reader.Verify(t.Context())
	require.NoError(t, err, "damage is what verifying finds")
	defer func() { require.False(t, refused > 0 && len(found.Problems) == 0, "no problem told of") }()
	for _, name := range []string{"1", "2"} {
		run, err := reader.Run(name)
		if err != nil {
			refused++
			continue
		}
		requireRows(t, sampleRows(0, 300), run.Rows)
		require.Equal(t, sampleIntent(), run.Intent)
		require.Equal(t, record.Complete, run.Result.Outcome)
	}
	return refused
}

// rounds are fewer where tests shall be short.
func rounds(t *testing.T, n int) int {
	t.Helper()
	if testing.Short() {
		return max(n/10, 1)
	}
	return n
}

func TestNewerAndForeignFilesAreRefusedUntouched(t *testing.T) {
	for pragma, want := range map[string]error{fmt.Sprintf("user_version = %d", record.SchemaVersion+1): ErrNewerSchema, "application_id = 7": ErrForeign} {
		path := recorded(t, 1)
		db, err := sql.Open("sqlite", path)
		require.NoError(t, err)
		_, err = db.Exec("PRAGMA " + pragma)
		require.NoError(t, err)
		require.NoError(t, db.Close())
		before, err := os.ReadFile(path)
		require.NoError(t, err)
		_, err = Open(path, Options{})
		require.ErrorIs(t, err, want)
		require.ErrorContains(t, err, "another file with --journal")
		_, err = OpenReadOnly(path)
		require.ErrorIs(t, err, want)
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, before, after)
	}
}

// A bit that flips in the name of a column or of a table leaves the structure of the file
// sound. The journal is damaged all the same: it is set aside, and no load begins until a person knows.
func TestFlippedNameInTheSchemaIsDamage(t *testing.T) {
	for _, change := range [][2]string{
		{"\tintent BLOB", "\tintenu BLOB"}, {"\tresult BLOB", "\tresuld BLOB"}, {"\thash   BLOB\n", "\thasi   BLOB\n"},
		{"batch BLOB", "bauch BLOB"}, {"INTEGER PRIMARY KEY, body BLOB NOT NULL) STRICT", "INTEGER PRIMARY KEY, bodx BLOB NOT NULL) STRICT"},
		{"TABLE strip (id INTEGER PRIMARY KEY, about TEXT NOT NULL, body BLOB", "TABLE strip (id INTEGER PRIMARY KEY, about TEXT NOT NULL, body  LOB"},
	} {
		path := recorded(t, 1)
		content, err := os.ReadFile(path)
		require.NoError(t, err)
		flipped := bytes.ReplaceAll(content, []byte(change[0]), []byte(change[1]))
		require.NotEqual(t, content, flipped, change[0])
		require.NoError(t, os.WriteFile(path, flipped, 0o600))
		if reader, err := OpenReadOnly(path); err == nil {
			_, err = reader.Run("last")
			require.ErrorIs(t, errors.Join(err, verified(t, reader)), ErrDamaged, change[1])
			require.NoError(t, reader.Close())
		}
		j, err := Open(path, Options{})
		require.NoError(t, err, change[1])
		assert.NotEmpty(t, j.Status().SetAside, change[1])
		_, err = j.Begin(t.Context(), sampleIntent())
		require.ErrorIs(t, err, ErrUnacknowledged)
		require.NoError(t, j.Close())
	}
}

// verified is what a whole look has found, as one error.
func verified(t *testing.T, r *Reader) error {
	t.Helper()
	found, err := r.Verify(t.Context())
	if err == nil && len(found.Problems) > 0 {
		return fmt.Errorf("%w: %v", ErrDamaged, found.Problems)
	}
	return err
}

func TestNoJournalYet(t *testing.T) {
	path := filepath.Join(t.TempDir(), "none", "journal.db")
	_, err := OpenReadOnly(path)
	require.ErrorIs(t, err, ErrNoJournal)
	assert.NoDirExists(t, filepath.Dir(path), "a reader makes nothing")
}

func TestUnreadablePlaceIsSaid(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err := Open(filepath.Join(file, "journal.db"), Options{})
	require.ErrorContains(t, err, "making the directory of the journal")
}

func TestVerifyFindsWhatWasChanged(t *testing.T) {
	for change, want := range map[string]string{
		"UPDATE run SET result = replace(result, '69.98', '70.00') WHERE id = 2":   "the hash differs",
		"UPDATE run SET intent = replace(intent, '222.5', '212.5') WHERE id = 2":   "the hash differs",
		"DELETE FROM event WHERE id = (2 << 32)":                                   "the hash differs",
		"DELETE FROM sample WHERE id = (2 << 32) + 1":                              "number 1 is missing",
		"UPDATE sample SET batch = x'01' WHERE id = (2 << 32) + 1":                 "damaged batch",
		"UPDATE sample SET batch = zeroblob(200) WHERE id = (2 << 32) + 1":         "check sum",
		"UPDATE run SET intent = CAST('{' AS BLOB) WHERE id = 2":                   "the intent of run 2",
		"UPDATE run SET result = CAST('[]' AS BLOB) WHERE id = 2":                  "the result of run 2",
		"UPDATE event SET body = CAST('{\"t_s\":\"x\"}' AS BLOB) WHERE id = 2<<32": "the events of run 2",
	} {
		path := recorded(t, 3)
		db, err := sql.Open("sqlite", path)
		require.NoError(t, err)
		_, err = db.Exec(strings.Replace(strings.Replace(change, "replace(", "CAST(replace(", 1), ") WHERE id = 2", castEnd(change), 1))
		require.NoError(t, err, change)
		require.NoError(t, db.Close())
		reader, err := OpenReadOnly(path)
		require.NoError(t, err)
		found, err := reader.Verify(t.Context())
		require.NoError(t, err)
		assert.Equal(t, 3, found.Runs)
		assert.Equal(t, 2, found.Verified)
		require.Len(t, found.Problems, 1, change)
		assert.Equal(t, "2", found.Problems[0].Run)
		assert.Contains(t, found.Problems[0].Message, want)
		require.NoError(t, reader.Close())
	}
}

// castEnd: replace() gives text and the column takes blobs.
func castEnd(change string) string {
	if strings.Contains(change, "replace(") {
		return ") AS BLOB) WHERE id = 2"
	}
	return ") WHERE id = 2"
}

// The limit on the number of pages is how the database itself is told that the
// disk is full.
func TestDatabaseThatIsFullTakesTheRowsOnceThereIsRoom(t *testing.T) {
	j, _ := openSample(t)
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	rows := sampleRows(0, 3000)
	_, err = j.db.Exec("PRAGMA max_page_count = 20")
	require.NoError(t, err)
	appendAll(j, rows)
	flushed := make(chan error, 1)
	go func() { flushed <- j.Flush(t.Context()) }()
	require.Eventually(t, func() bool { return strings.Contains(j.Health().LastError, "full") }, time.Minute, time.Millisecond)
	_, err = j.db.Exec("PRAGMA max_page_count = 1000000")
	require.NoError(t, err)
	require.NoError(t, j.Finish(t.Context(), sampleResult()))
	require.NoError(t, <-flushed)
	run, err := j.Run("1")
	require.NoError(t, err)
	requireRows(t, rows, run.Rows)
	assert.Empty(t, j.Health().LastError)
	assert.Zero(t, j.Health().Dropped)
}
