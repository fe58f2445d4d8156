package main

import (
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/journal"
	"anodized/controller/record"
)

// The disk of a daemon stalls in a load and does not come back: page, API and metrics
// answer and say so, the load goes on, a stop is as fast as ever, no plan and no start is
// kept waiting, and nothing more is energised. Where it comes back, the record has all of
// it, and the next load runs.
func TestDaemonOnADiskThatStalls(t *testing.T) {
	t.Parallel()
	sum := newFigures("stalled-daemon")
	rounds(t, *processStalled, func(t *testing.T, n int) {
		random, disk := randomOf(n, 6), stallingDisk(t)
		plant := stand(t, t.TempDir(), nil)
		s := serveOn(t, plant, filepath.Join(disk.at, "j.db"))
		stream := s.follow()
		next := s.planned(t)
		s.startWhenTheLidAllows(t, s.planned(t))
		_, _, on := plant.until(30*time.Second, isLive)
		require.True(t, on, "it was never energised")
		<-time.After(time.Duration(random.IntN(1500)) * time.Millisecond) // the moment is the input
		disk.stall()
		s.requireTellsOfTheStall(t, plant, sum)
		s.requireStopsAtOnce(t, plant, sum)
		stopped := wait(t, stream, isResult)
		assert.Equal(t, "stopped", stopped["outcome"])
		assert.Contains(t, fmt.Sprint(stopped["findings"]), fault.JournalUnwritable)
		s.requireNoPlanIsKeptWaiting(t, sum)
		s.requireRunsAreToldInTime(t, sum)

		s.startWhenTheLidAllows(t, next)
		refused := wait(t, stream, isResult)
		assert.Equal(t, "refused", refused["outcome"])
		assert.Contains(t, fmt.Sprint(refused["reasons"]), "the disk took longer than 5s")
		assert.Nil(t, refused["energised_seconds"])
		assert.False(t, plant.truth().Live)

		disk.comesBack()
		s.startWhenTheLidAllows(t, s.planned(t))
		_, _, on = plant.until(30*time.Second, isLive)
		if !on {
			_, now := s.get("/api/status")
			t.Fatalf("the disk is back, and it is not energised: %v %s", now, &s.errors)
		}
		s.requireStopsAtOnce(t, plant, sum)
		wait(t, stream, isResult)
		require.NoError(t, s.command.Process.Signal(syscall.SIGTERM))
		assert.Equal(t, statusDone, s.end())
		requireStoppedOnRecord(t, s.journal, sum)
	})
	sum.tell(t, *processStalled)
}

func serveOn(t *testing.T, plant *stood, path string) served {
	t.Helper()
	s := served{journal: path}
	s.child = startWith(t, []string{collecting}, "serve", "--json", "--listen", "127.0.0.1:0", "--bench", plant.file, "--journal", path)
	s.announced()
	return s
}

func (s served) planned(t *testing.T) string {
	t.Helper()
	var status int
	var offered map[string]any
	require.Eventually(t, func() bool {
		status, offered = s.post("/api/plan", map[string]any{"profile_yaml": cutProfile, "rack_yaml": oneRing})
		return status != http.StatusServiceUnavailable // of a disk that is only just back
	}, 20*time.Second, 100*time.Millisecond)
	require.Equal(t, http.StatusOK, status, offered)
	return offered["plan_id"].(string)
}

// startWhenTheLidAllows starts once the person at the bench has hung the rack.
func (s served) startWhenTheLidAllows(t *testing.T, plan string) {
	t.Helper()
	var answer map[string]any
	require.Eventually(t, func() bool {
		var status int
		status, answer = s.post("/api/runs", map[string]any{"plan_id": plan, "operator": "Ida"})
		return status == http.StatusAccepted
	}, 40*time.Second, 100*time.Millisecond, "%v", &answer)
}

// requireTellsOfTheStall looks at everything that the daemon shows until all of it tells,
// and at the load, which goes on.
func (s served) requireTellsOfTheStall(t *testing.T, plant *stood, sum *figuresOf) {
	t.Helper()
	began, longest := time.Now(), time.Duration(0)
	for told := false; !told; {
		require.Less(t, time.Since(began), 15*time.Second, "it never told")
		asked := time.Now()
		status, now := s.get("/api/status")
		page, metrics := s.text(t, "/"), s.text(t, "/metrics")
		healthy, _ := s.get("/healthz")
		longest = max(longest, time.Since(asked))
		assert.Equal(t, []int{http.StatusOK, http.StatusOK}, []int{status, healthy})
		require.True(t, plant.truth().Live, "the load goes on: %v", now["trip"])
		told = strings.Contains(fmt.Sprint(now["findings"]), string(fault.JournalUnwritable)) &&
			strings.Contains(page, "longer than 5s for a write of the record") &&
			gauge(t, metrics, "anodized_journal_write_seconds") > 5 && gauge(t, metrics, "anodized_journal_queue_rows") > 30
	}
	sum.value("seconds until all of it tells", time.Since(began).Seconds())
	sum.value("seconds for status, page, metrics and health", longest.Seconds())
}

func (s served) text(t *testing.T, path string) string {
	t.Helper()
	answer, err := http.Get(s.url + path)
	require.NoError(t, err)
	text, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	return string(text)
}

func gauge(t *testing.T, metrics, name string) float64 {
	t.Helper()
	_, after, found := strings.Cut(metrics, "\n"+name+" ")
	require.True(t, found, name)
	value, err := strconv.ParseFloat(strings.SplitN(after, "\n", 2)[0], 64)
	require.NoError(t, err)
	return value
}

// requireStopsAtOnce: sooner than the one-shot would end a control that hangs.
func (s served) requireStopsAtOnce(t *testing.T, plant *stood, sum *figuresOf) {
	t.Helper()
	began := time.Now()
	status, answer := s.post("/api/stop", map[string]any{"why": "a look at the part"})
	assert.Equal(t, http.StatusOK, status, answer)
	_, _, dead := plant.until(10*time.Second, isDead)
	require.True(t, dead)
	took := time.Since(began).Seconds()
	assert.Less(t, took, 0.9)
	sum.value("seconds from a stop to a dead cell", took)
}

func (s served) requireNoPlanIsKeptWaiting(t *testing.T, sum *figuresOf) {
	t.Helper()
	began := time.Now()
	status, answer := s.post("/api/plan", map[string]any{"profile_yaml": cutProfile, "rack_yaml": oneRing})
	assert.Equal(t, http.StatusServiceUnavailable, status)
	assert.Contains(t, fmt.Sprint(answer), "the disk does not answer")
	sum.value("seconds until a plan is refused", time.Since(began).Seconds())
}

// requireRunsAreToldInTime: who asks for the record hears that the disk has it.
func (s served) requireRunsAreToldInTime(t *testing.T, sum *figuresOf) {
	t.Helper()
	began := time.Now()
	status, answer := s.get("/api/runs/last/review")
	sum.value("seconds until a read of the record is refused", time.Since(began).Seconds())
	assert.Equal(t, http.StatusServiceUnavailable, status)
	assert.Contains(t, fmt.Sprint(answer), "the disk does not answer")
	assert.Less(t, time.Since(began), 8*time.Second)
}

// requireStoppedOnRecord: the first run and the last were stopped, and nothing between them
// was energised.
func requireStoppedOnRecord(t *testing.T, path string, sum *figuresOf) {
	t.Helper()
	reader, err := journal.OpenReadOnly(path)
	require.NoError(t, err)
	defer func() { require.NoError(t, reader.Close()) }()
	found, err := reader.Verify(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Problems)
	runs, err := reader.Runs(journal.Filter{})
	require.NoError(t, err)
	stopped := 0
	for _, one := range runs {
		kept, err := reader.Run(one.ID)
		require.NoError(t, err)
		sum.count("record: " + endOf(kept.Result.Outcome, kept.Result.Trip))
		if kept.Result.Outcome == record.Stopped {
			stopped++
			assert.NotEmpty(t, kept.Rows)
		} else {
			assert.Equal(t, record.Refused, kept.Result.Outcome)
			assert.Nil(t, kept.Result.EnergisedSeconds)
		}
		for _, event := range kept.Events {
			assert.NotEqual(t, string(fault.RowsDropped), event.Code)
		}
	}
	assert.Equal(t, 2, stopped)
}
