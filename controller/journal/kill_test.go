package journal

import (
	"bufio"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
	"anodized/hal/haltest/leak"
)

// A kill takes a process, so the suite makes few; .ci/process makes as many as are worth a
// figure.
var journalKills = flag.Int("journal-kills", 20, "how often TestKilledAtAnyMoment kills")

// childVariable tells the test binary that it is the process to be killed.
const childVariable = "ANODIZED_JOURNAL_CHILD"

func TestMain(m *testing.M) {
	if path := os.Getenv(childVariable); path != "" {
		if err := recordUntilKilled(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(leak.Main(m))
}

// recordUntilKilled begins run after run, and says on standard output what is
// durable: "open" once the journal is, "run N" once an intent is, "rows N" once so
// many rows are.
func recordUntilKilled(path string) error {
	j, err := Open(path, Options{})
	if err != nil {
		return err
	}
	fmt.Println("open")
	for {
		name, err := j.Begin(noDeadline(), sampleIntent())
		if err != nil {
			return err
		}
		fmt.Println("run", name)
		for first := 0; first < 60; first += 10 {
			appendAll(j, sampleRows(first, 10))
			if err := j.Flush(noDeadline()); err != nil {
				return err
			}
			fmt.Println("rows", first+10)
		}
		if err := j.Finish(noDeadline(), sampleResult()); err != nil {
			return err
		}
		fmt.Println("finished", name)
	}
}

// told is what the child said before it died.
type told struct{ runs, rows, finished int }

// The next child opens the journal to write, and so closes the run that the last
// one left.
func TestKilledAtAnyMomentTheRecordIsHonest(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(2026, 3))
	path := filepath.Join(t.TempDir(), "journal.db")
	interruptions, before := 0, 0
	span := 12 * time.Millisecond
	for range *journalKills {
		said := killAfter(t, path, time.Duration(random.Int64N(int64(span))))
		before, interruptions = requireRecord(t, path, said, before, interruptions)
		if interruptions == 0 {
			span = min(2*span, 2*time.Second) // on a slow machine a run begins later
		}
	}
	assert.Positive(t, interruptions)
	requireSound(t, path)
}

func requireSound(t *testing.T, path string) {
	t.Helper()
	j := reopen(t, path)
	assert.Empty(t, j.Status().SetAside)
	found, err := j.Verify(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Problems)
	assert.Equal(t, found.Runs, found.Verified)
	var strays int
	require.NoError(t, j.db.QueryRow("SELECT count(*) FROM sample WHERE id >> 32 NOT IN (SELECT id FROM run)").Scan(&strays))
	require.Zero(t, strays, "rows without an intent")
}

// killAfter starts a child and kills it so long after it has opened the journal.
func killAfter(t *testing.T, path string, wait time.Duration) told {
	t.Helper()
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), childVariable+"="+path)
	child.Stderr = os.Stderr
	output, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	lines := bufio.NewReader(output)
	first, err := lines.ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "open\n", first)
	<-time.After(wait) // not a wait for something: the moment of the kill is the input
	require.NoError(t, child.Process.Kill())
	rest, err := io.ReadAll(lines)
	require.NoError(t, err)
	require.Error(t, child.Wait(), "killed")
	return hear(t, string(rest))
}

func hear(t *testing.T, text string) (said told) {
	t.Helper()
	for line := range strings.Lines(text) {
		what, number, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
		n, err := strconv.Atoi(number)
		require.NoError(t, err)
		switch what {
		case "run":
			said.runs, said.rows = n, 0
		case "rows":
			said.rows = n
		case "finished":
			said.finished = n
		}
	}
	return said
}

// requireRecord holds the record against what the child said: nothing durable may
// be missing, nothing may be there that did not happen. It returns how many runs
// and interruptions there are now.
func requireRecord(t *testing.T, path string, said told, before, interruptions int) (int, int) {
	t.Helper()
	reader, err := OpenReadOnly(path)
	require.NoError(t, err)
	newest, err := reader.Runs(Filter{Limit: 1})
	require.NoError(t, err)
	count := before
	if len(newest) > 0 {
		count, err = strconv.Atoi(newest[0].ID)
		require.NoError(t, err)
	}
	require.GreaterOrEqual(t, count, max(said.runs, before))
	for number := before + 1; number <= count; number++ {
		run, err := reader.Run(strconv.Itoa(number))
		require.NoError(t, err)
		interruptions += requireRun(t, run, number, said)
	}
	require.NoError(t, reader.Close())
	return count, interruptions
}

// requireRun returns 1 for an interrupted run.
func requireRun(t *testing.T, run record.Run, number int, said told) int {
	t.Helper()
	require.Zero(t, len(run.Rows)%10, "whole batches")
	requireRows(t, sampleRows(0, len(run.Rows)), run.Rows)
	if run.Result.Outcome == record.Complete {
		require.Len(t, run.Rows, 60)
		return 0
	}
	require.Equal(t, record.Interrupted, run.Result.Outcome)
	require.Greater(t, number, said.finished, "a finished run stays finished")
	if number == said.runs {
		require.GreaterOrEqual(t, len(run.Rows), said.rows, "rows that were durable")
	}
	return 1
}
