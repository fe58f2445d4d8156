package faults

import (
	"context"
	"log/slog"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/plan"
	"anodized/hal"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/hal/virtual/plant"
)

// soaked is one bench that loads are run on, one after the other.
type soaked struct {
	name    string
	bench   *virtual.Bench
	now     func() time.Duration // the bench's clock
	devices controller.Devices
	pacer   controller.Pacer
	record  controller.Recorder
	options controller.Options
	every   time.Duration // between faults of the line, on average; 0: none
	seed    uint64
	stays   bool // the bench's person changes the racks without being called
	cut     bool // what runs when the time is over is stopped, not run to its end

	random  *rand.Rand
	seen    *tally
	report  wayReport
	station *controller.Station
	faults  *faults
	log     lastWords
	over    chan struct{} // closed when the Station has ended
}

// lastWords keeps what was logged last.
type lastWords struct {
	mu   sync.Mutex
	said []string
}

const wordsKept = 3

func (l *lastWords) Write(line []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.said = append(l.said, strings.TrimSpace(string(line)))
	l.said = l.said[max(0, len(l.said)-wordsKept):]
	return len(line), nil
}

func (l *lastWords) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return strings.Join(l.said, "\n")
}

// abilities is a witness of a supply that has a trip of its own.
type abilities struct {
	*witness
	hal.Protector
}

// watch puts the witnesses in front of the devices.
func (s *soaked) watch() {
	s.random, s.seen = rand.New(rand.NewPCG(s.seed, 0x736f616b)), newTally()
	s.report = wayReport{Outcomes: map[string]int{}, Trips: map[string]int{}, After: map[string]int{}, Findings: map[string]int{}, Words: []string{}, tally: s.seen}
	w := &witness{Supply: s.devices.Supply, bench: s.bench, now: s.now, meter: plant.Default().Meter, seen: s.seen, failed: -1,
		faults: &faults{random: rand.New(rand.NewPCG(s.seed, 0x6661756c)), every: s.every, next: s.now() + s.every, kinds: brief}}
	if s.name == inMemoryWay {
		w.faults.kinds = lineless
	}
	s.faults = w.faults
	protector, has := s.devices.Supply.(hal.Protector)
	s.devices.Supply = w
	if has {
		s.devices.Supply = abilities{w, protector}
	}
	s.devices.Interlock = &lidWitness{Interlock: s.devices.Interlock, bench: s.bench, seen: s.seen}
	s.station = controller.New(s.devices, s.pacer, s.record, slog.New(slog.NewTextHandler(&s.log, &slog.HandlerOptions{Level: slog.LevelWarn})), s.options)
}

// calm is the time before the end of a soak that is cut in which the line is left alone,
// so that off can be confirmed.
const calm = 2 * time.Second

// until runs load after load, with rests, until the bench's clock says that it is time;
// the load that runs then is run to its end.
func (s *soaked) until(t *testing.T, end time.Duration) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	if s.cut {
		s.faults.until = end - calm
		over := time.AfterFunc(end-s.now(), cancel)
		defer over.Stop()
	}
	events, leave := s.station.Subscribe(10000)
	defer leave()
	ended := make(chan error, 1)
	s.over = make(chan struct{})
	go func() {
		defer close(s.over)
		ended <- s.station.Run(ctx)
	}()
	for s.now() < end && s.load(t, events) {
		if s.now() < end {
			s.rest(5 + 15*s.random.Float64())
		}
	}
	last := s.station.Snapshot()
	s.report.Ticks, s.report.Overruns, s.report.Recovered = last.Tick, last.Loop.Overruns, recovery(s.seen.Recoveries)
	cancel()
	require.NoError(t, <-ended, s.name)
}

// load runs one load to its result; false: the Station has ended.
func (s *soaked) load(t *testing.T, events <-chan controller.Event) bool {
	t.Helper()
	s.callPerson()
	require.NoError(t, s.station.Start(s.request(t)))
	for ev := range events {
		if ev.Kind != controller.KindResult {
			continue
		}
		s.report.Loads++
		s.report.Outcomes[string(ev.Result.Outcome)]++
		for _, f := range ev.Result.Findings {
			s.report.Findings[string(f.Code)]++
		}
		if ev.Result.EnergisedSeconds != nil {
			s.report.Energised += *ev.Result.EnergisedSeconds
		}
		if ev.Result.Trip != nil {
			s.report.Trips[string(ev.Result.Trip.Code)]++
			s.report.After[s.faults.last()]++
			s.report.Words = append(s.report.Words, string(ev.Result.Trip.Code)+": "+s.log.String())
			s.acknowledge()
		}
		return true
	}
	return false
}

func (s *soaked) hasEnded() bool {
	select {
	case <-s.over:
		return true
	default:
		return false
	}
}

// acknowledge clears a trip as a person does: lid opened and closed, then the word. A
// Station that has ended keeps its trip for ever.
func (s *soaked) acknowledge() {
	for s.station.Snapshot().Trip != nil && !s.hasEnded() {
		s.callPerson()
		s.rest(12)
		if s.station.Acknowledge("the soak") != nil {
			return
		}
		s.rest(1)
	}
}

func (s *soaked) callPerson() {
	if !s.stays {
		s.bench.NextRack()
	}
}

// rest lets time pass in which nobody does anything.
func (s *soaked) rest(seconds float64) {
	due := s.now() + time.Duration(seconds*float64(time.Second))
	for tick := time.NewTicker(100 * time.Millisecond); ; <-tick.C {
		if s.now() >= due || s.hasEnded() {
			tick.Stop()
			return
		}
	}
}

// request draws a load of the rack of spacers.
func (s *soaked) request(t *testing.T) controller.Request {
	t.Helper()
	film, err := surface()
	require.NoError(t, err)
	end := unit.CurrentDensity(0.15 + 0.15*s.random.Float64())
	r := spacerRequest(film, unit.Volts(10+60*s.random.Float64()), unit.VoltsPerSecond(0.8+1.2*s.random.Float64()), end)
	limits := s.devices.Supply.Limits()
	r.Supply = plan.SupplyLimits{HighestVolts: limits.HighestVolts, HighestAmperes: limits.HighestAmperes, VoltStep: limits.VoltStep, AmpereStep: limits.AmpereStep}
	made, err := plan.Build(r)
	require.NoError(t, err)
	return controller.Request{Plan: made, Profile: r.Profile, Rack: r.Rack, Metal: r.Metal, Bath: r.Bath, Calibration: r.Calibration, Seed: s.seed}
}
