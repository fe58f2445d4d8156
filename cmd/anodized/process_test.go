package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
)

// How often each thing is done to a real process beside a plant in another. The suite
// does each a few times; .ci/process does it as often as is worth a figure.
var (
	processKills   = flag.Int("process-kills", 3, "rounds of kill -9")
	processStops   = flag.Int("process-stops", 1, "rounds of SIGSTOP")
	processDaemons = flag.Int("process-daemons", 1, "rounds of daemons that are started at once")
	processFull    = flag.Int("process-full", 0, "rounds of a full disk; mounts, so it needs root")
	processFrozen  = flag.Int("process-frozen", 0, "rounds of a disk that becomes read-only; mounts, so it needs root")
	processStalled = flag.Int("process-stalled", 3, "rounds of a disk that stalls, of each kind; mounts, so it needs root")
	processSeed    = flag.Uint64("process-seed", 1, "seed of the moments")
	processFigures = flag.String("process-figures", "", "folder for the figures, as JSON")
)

// deadWithin is how soon the cell is without power when its controller is no more: the
// second of the one-shot, and what the contactor takes.
const deadWithin = 1500 * time.Millisecond

// A film of a few volts that takes its time, so that there is something to cut off.
const cutProfile = `name: a slow straw
metal: titanium-grade-5
bath: bicarbonate
target: 10 V
ramp: 2 V/s
current density: 5 mA/cm2
end:
  current density: 0.8 mA/cm2
  sustained: 1 s
`

// stood is a plant with contactor and one-shot, in this process; the controller is
// another one.
type stood struct {
	t     *testing.T
	began time.Time
	front *front.Front
	file  string // of the bench
}

func stand(t *testing.T, folder string, change func(*front.Options)) *stood {
	t.Helper()
	s := &stood{t: t, began: time.Now(), file: filepath.Join(folder, "bench.yaml")}
	options := front.Options{Setup: virtual.Setup{Seed: 1, Chain: true, Parts: []virtual.Part{{Area: 100, Count: 2}}}, Elapsed: s.elapsed}
	if change != nil {
		change(&options)
	}
	var err error
	s.front, err = front.Listen(options)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(s.file, []byte(s.front.BenchFile()), 0o600))
	ctx, cancel := context.WithCancel(context.Background())
	served := make(chan error, 1)
	go func() { served <- s.front.Serve(ctx) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-served)
	})
	return s
}

func (s *stood) elapsed() time.Duration { return time.Since(s.began) }

// truth is what the plant is now.
func (s *stood) truth() virtual.Truth {
	s.front.Bench().AdvanceTo(s.elapsed())
	return s.front.Bench().Truth()
}

const lookEvery = 2 * time.Millisecond

// until looks at the plant until it is as wanted, or the time is over.
func (s *stood) until(within time.Duration, met func(virtual.Truth) bool) (truth virtual.Truth, took time.Duration, seen bool) {
	began, look := time.Now(), time.NewTicker(lookEvery)
	defer look.Stop()
	for ; ; <-look.C {
		truth, took = s.truth(), time.Since(began)
		if met(truth) {
			return truth, took, true
		}
		if took > within {
			return truth, took, false
		}
	}
}

func isLive(truth virtual.Truth) bool { return truth.Live }
func isDead(truth virtual.Truth) bool { return !truth.Live }

// loadOn starts a load on the plant.
func (s *stood) loadOn(folder, journalPath string, environment ...string) *child {
	s.t.Helper()
	for name, text := range map[string]string{"profile.yaml": cutProfile, "rack.yaml": oneRing} {
		require.NoError(s.t, os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600))
	}
	return startWith(s.t, environment, "run", "--json", "--bench", s.file, "--profile", filepath.Join(folder, "profile.yaml"),
		"--rack", filepath.Join(folder, "rack.yaml"), "--journal", journalPath)
}

// figuresOf are the figures of many rounds.
type figuresOf struct {
	mu     sync.Mutex
	Name   string             `json:"test"`
	Plant  string             `json:"plant"`
	Rounds int                `json:"rounds"`
	Counts map[string]int     `json:"counts"`
	Most   map[string]float64 `json:"most"`
	Middle map[string]float64 `json:"median"`
	values map[string][]float64
}

func newFigures(name string) *figuresOf {
	return &figuresOf{Name: name, Plant: "SIMULATED, with contactor and one-shot", Counts: map[string]int{}, Most: map[string]float64{},
		Middle: map[string]float64{}, values: map[string][]float64{}}
}

func (f *figuresOf) count(what string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.Counts[what]++
}

func (f *figuresOf) value(what string, value float64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.values[what] = append(f.values[what], value)
}

// tell logs the figures and keeps them where that is asked for.
func (f *figuresOf) tell(t *testing.T, rounds int) {
	t.Helper()
	f.Rounds = rounds
	for what, values := range f.values {
		slices.Sort(values)
		f.Middle[what], f.Most[what] = values[len(values)/2], values[len(values)-1]
	}
	text, err := json.MarshalIndent(f, "", "  ")
	require.NoError(t, err)
	t.Logf("%s", text)
	if *processFigures != "" {
		require.NoError(t, os.WriteFile(filepath.Join(*processFigures, f.Name+".json"), append(text, '\n'), 0o644))
	}
}

// rounds runs a test so often, several at a time.
func rounds(t *testing.T, count int, round func(t *testing.T, n int)) {
	t.Helper()
	t.Run("rounds", func(t *testing.T) {
		for n := range count {
			t.Run(fmt.Sprint(n), func(t *testing.T) {
				t.Parallel()
				round(t, n)
			})
		}
	})
}

// unread are the trips of a machine that starves controller and plant, and how long that was
// by their evidence: no answer within what the rule of each allows, and never a lid that
// opened, a stop that was pressed or a contactor that hangs. None of them happens here.
var unread = map[fault.Code]struct {
	says  *regexp.Regexp
	least float64 // s
}{
	fault.ControlAbsent:  {regexp.MustCompile(`^this tick (?:came|had read its devices) ([0-9.]+) s |^the (?:lid|emergency stop) was read (?:closed|released) ([0-9.]+) s before`), 0.3},
	fault.InterlockOpen:  {regexp.MustCompile(`^no channel of the lid switch was read for ([0-9.]+) s`), 0.5},
	fault.EmergencyStop:  {regexp.MustCompile(`^no contact of the emergency stop was read for ([0-9.]+) s`), 0.5},
	fault.ContactorStuck: {regexp.MustCompile(`^it is pulsed, and no mirror contact was read for ([0-9.]+) s`), 0.5},
	fault.SupplySilent:   {regexp.MustCompile(`^the last reading is ([0-9.]+) s old`), 1},
}

// requireUnread holds a run to its end, or to a trip of [unread].
func requireUnread(t *testing.T, result record.Result, sum *figuresOf) {
	t.Helper()
	sum.count("ended: " + endOf(result.Outcome, result.Trip))
	if result.Trip == nil {
		assert.Contains(t, []record.Outcome{record.Complete, record.Stopped}, result.Outcome)
		return
	}
	require.Contains(t, unread, result.Trip.Code, "%+v", *result.Trip)
	require.Len(t, result.Trip.Evidence, 1)
	rule := unread[result.Trip.Code]
	said := rule.says.FindStringSubmatch(result.Trip.Evidence[0])
	require.NotNil(t, said, "%+v", *result.Trip)
	seconds, err := strconv.ParseFloat(strings.Join(said[1:], ""), 64)
	require.NoError(t, err)
	assert.GreaterOrEqual(t, seconds, rule.least)
	sum.value("seconds that nothing was read for, as "+string(result.Trip.Code), seconds)
}

// A controller that stands still feeds nothing: the cell is dead within a second and a
// half, and once it wakes it trips, or does not go on at all.
func TestProcessThatStandsStill(t *testing.T) {
	t.Parallel()
	sum := newFigures("stand-still")
	rounds(t, *processStops, func(t *testing.T, n int) {
		random := randomOf(n, 1)
		folder := t.TempDir()
		plant := stand(t, folder, nil)
		path := filepath.Join(folder, "j.db")
		run := plant.loadOn(folder, path)
		ended := run.drained()
		if _, _, on := plant.until(60*time.Second, isLive); !on {
			t.Fatalf("it was never energised: %s", &run.errors)
		}
		<-time.After(time.Duration(random.IntN(4000)) * time.Millisecond) // the moment is the input
		if err := run.command.Process.Signal(syscall.SIGSTOP); errors.Is(err, os.ErrProcessDone) {
			sum.count("ended before, as this machine stood still")
			return
		}
		wasLive := plant.truth().Live
		_, took, dead := plant.until(10*time.Second, isDead)
		assert.True(t, dead)
		assert.LessOrEqual(t, took, deadWithin)
		if wasLive {
			sum.count("live when it stopped")
			sum.value("seconds until dead", took.Seconds())
		}
		<-time.After(time.Second)
		assert.False(t, plant.truth().Live, "it stays dead")
		if err := run.command.Process.Signal(syscall.SIGCONT); !errors.Is(err, os.ErrProcessDone) {
			require.NoError(t, err)
		}
		<-ended
		assert.False(t, plant.truth().Live)
		sum.count("woken: " + endOf(run.result.Outcome, run.result.Trip))
		if wasLive {
			assert.NotEqual(t, "complete", string(run.result.Outcome))
		}
	})
	sum.tell(t, *processStops)
}
