package journal

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/record"
)

func TestRunComesBackAsItWas(t *testing.T) {
	j, path := openSample(t)
	name, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	require.Equal(t, "1", name)
	rows := sampleRows(-5, 2000)
	appendAll(j, rows)
	event := record.Event{T: 0.3, Kind: "finding", Code: "part-missing",
		Finding: &fault.Finding{Code: "part-missing", AtSeconds: 0.1 + 0.2, Evidence: []string{"live area 180 cm2"}}}
	j.Note(event)
	require.NoError(t, j.Finish(t.Context(), sampleResult()))
	require.NoError(t, j.Close())

	reader, err := OpenReadOnly(path)
	require.NoError(t, err)
	run, err := reader.Run("last")
	require.NoError(t, err)
	require.NoError(t, reader.Close())
	requireRows(t, rows, run.Rows)
	assert.Equal(t, []record.Event{event}, run.Events)
	assert.Equal(t, sampleIntent(), run.Intent)
	want := sampleResult()
	want.Event, want.Run = "result", "1"
	assert.Equal(t, want, run.Result)
}

func TestFilesAreForTheOwnerAlone(t *testing.T) {
	_, path := openSample(t)
	for name, mode := range map[string]os.FileMode{
		filepath.Dir(path): 0o700, path: 0o600, path + "-wal": 0o600, path + ".lock": 0o600,
	} {
		info, err := os.Stat(name)
		require.NoError(t, err)
		assert.Equal(t, mode, info.Mode().Perm(), name)
	}
}

func TestEveryConnectionHasTheSettings(t *testing.T) {
	j, _ := openSample(t)
	for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "page_size": "512",
		"wal_autocheckpoint": "1000", "application_id": "1097756516", "user_version": "3", "busy_timeout": "4000"} {
		var got string
		require.NoError(t, j.db.QueryRow("PRAGMA "+pragma).Scan(&got))
		assert.Equal(t, want, got, pragma)
	}
	first, err := j.Reader.db.Conn(t.Context())
	require.NoError(t, err)
	second, err := j.Reader.db.Conn(t.Context())
	require.NoError(t, err)
	for _, connection := range []interface{ Close() error }{first, second} {
		defer func() { require.NoError(t, connection.Close()) }()
	}
	_, err = first.ExecContext(t.Context(), "DELETE FROM run")
	require.ErrorContains(t, err, "readonly")
	_, err = second.ExecContext(t.Context(), "DELETE FROM run")
	require.ErrorContains(t, err, "readonly")
}

func TestSecondWriterIsRefusedAndReadersAreNot(t *testing.T) {
	j, path := openSample(t)
	_, err := Open(path, Options{})
	require.ErrorIs(t, err, ErrInUse)
	require.ErrorContains(t, err, "process ")
	_, err = j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	appendAll(j, sampleRows(0, 30))
	require.NoError(t, j.Flush(t.Context()))

	reader, err := OpenReadOnly(path)
	require.NoError(t, err)
	for _, from := range []*Reader{reader, j.Reader} {
		run, err := from.Run("1")
		require.NoError(t, err)
		assert.Len(t, run.Rows, 30)
		assert.Equal(t, Running, run.Result.Outcome)
	}
	require.NoError(t, reader.Close())
}

func TestOneRunAtATime(t *testing.T) {
	j, _ := openSample(t)
	require.ErrorIs(t, j.Finish(t.Context(), sampleResult()), ErrNoOpenRun)
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	_, err = j.Begin(t.Context(), sampleIntent())
	require.ErrorIs(t, err, ErrRunOpen)
	wrong := sampleResult()
	wrong.Run = "7"
	require.ErrorContains(t, j.Finish(t.Context(), wrong), `run 1 is the open one, not "7"`)
	require.NoError(t, j.Finish(t.Context(), sampleResult()))
	name, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	assert.Equal(t, "2", name)
}

func TestRowsOutsideARunBelongToNone(t *testing.T) {
	j, _ := openSample(t)
	appendAll(j, sampleRows(0, 10))
	j.Note(record.Event{Kind: "note"})
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	require.NoError(t, j.Finish(t.Context(), sampleResult()))
	appendAll(j, sampleRows(0, 10))
	run, err := j.Run("1")
	require.NoError(t, err)
	assert.Empty(t, run.Rows)
	assert.Empty(t, run.Events)
	assert.Equal(t, Health{Writes: 2, LastWriteSeconds: j.Health().LastWriteSeconds}, j.Health())
}

func TestIntentThatIsNoNumberIsRefused(t *testing.T) {
	j, _ := openSample(t)
	in := sampleIntent()
	in.Plan.Area /= 0 * in.Plan.Area
	_, err := j.Begin(t.Context(), in)
	require.ErrorContains(t, err, "writing the intent of a run as JSON")
}

func TestFullDiskRefusesARun(t *testing.T) {
	j, err := Open(filepath.Join(t.TempDir(), "journal.db"), Options{LeastRoom: 1 << 62})
	require.NoError(t, err)
	_, err = j.Begin(t.Context(), sampleIntent())
	require.ErrorIs(t, err, ErrNoRoom)
	require.NoError(t, j.Close())
	_, err = j.Begin(t.Context(), sampleIntent())
	require.Error(t, err)
}

func TestUnknownRunNamesWhatThereIs(t *testing.T) {
	j, _ := openSample(t)
	_, err := j.Run("last")
	require.ErrorIs(t, err, ErrNoRun)
	require.ErrorContains(t, err, "has none yet")
	for range 3 {
		_, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		require.NoError(t, j.Finish(t.Context(), sampleResult()))
	}
	for _, name := range []string{"4", "0", "-1", "first", "1 OR 1=1", "99999999999999999999"} {
		_, err := j.Run(name)
		require.ErrorIs(t, err, ErrNoRun, name)
		require.ErrorContains(t, err, "runs 1 to 3", name)
	}
}
