package controller

import (
	"flag"
	"math/rand/v2"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/record"
)

var clockSteps = flag.Int("clock-steps", 20, "steps of the wall clock in TestWallClockThatSteps")

// faring is a recorder that says how it gets on with its disk.
type faring struct {
	*shelf
	says func() record.Health
}

func (f faring) Health() record.Health { return f.says() }

func codesIn(list []fault.Finding) (codes []fault.Code) {
	for _, one := range list {
		codes = append(codes, one.Code)
	}
	return codes
}

// What the disk does is told once a load, in the snapshot, to the listeners and on the
// record; the load is complete all the same.
func TestTroubleOfTheDiskIsToldAndChangesNothing(t *testing.T) {
	for name, c := range map[string]struct {
		health record.Health
		want   []fault.Code
	}{
		"sound":   {record.Health{LastWriteSeconds: 0.2}, nil},
		"slow":    {record.Health{LastWriteSeconds: 1.5}, []fault.Code{fault.JournalSlow}},
		"stalled": {record.Health{LastWriteSeconds: 5.1}, []fault.Code{fault.JournalSlow, fault.JournalUnwritable}},
		"full":    {record.Health{LastError: "no space left on device"}, []fault.Code{fault.JournalUnwritable}},
		"overrun": {record.Health{LastError: "no space left on device", Dropped: 12}, []fault.Code{fault.JournalUnwritable, fault.RowsDropped}},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := newStand(60, Options{})
				asked := 0
				s.scribe.recorder = faring{s.shelf, func() record.Health {
					asked++
					if asked < 20 {
						return record.Health{}
					}
					return c.health
				}}
				ticker, err := NewTicker(100 * time.Millisecond)
				require.NoError(t, err)
				s.pacer, s.wire.now = ticker, time.Now
				s.core.run(30)
				res, end := startInRealTime(t, s)
				end()
				assert.Equal(t, record.Complete, res.Outcome)
				assert.Equal(t, c.want, codesIn(res.Findings))
				assert.ElementsMatch(t, c.want, codesIn(s.Snapshot().Findings))
				told := 0
				for _, note := range s.shelf.notes {
					if note.Kind == KindFinding {
						told++
					}
				}
				assert.Equal(t, len(c.want), told, "each once")
			})
		})
	}
}

// A wall clock that steps is noted, and nothing is decided from it: same samples, same
// end, whatever it shows, and whenever it steps.
func TestWallClockThatStepsIsNotedAndChangesNothing(t *testing.T) {
	plain, _, _ := hung(t, 7)
	want := through(t, plain, straw())
	wantRows := plain.scribe.recorder.(*shelf).rows
	states := []string{"checking", "contact-check", "ramping", "holding", "discharging"}
	steps := []time.Duration{3 * time.Second, -3 * time.Second, 87600 * time.Hour, -87600 * time.Hour}
	random := rand.New(rand.NewPCG(5, 5))
	for len(states)*len(steps) < *clockSteps {
		steps = append(steps, time.Duration(random.Int64N(int64(200000*time.Hour)))-100000*time.Hour)
	}
	for _, state := range states {
		for _, by := range steps {
			s, _, kept := hung(t, 7)
			started := time.Now()
			s.options.WallClock = func() time.Time {
				if seen := s.Snapshot().State; stepped(seen, state) {
					return started.Add(by)
				}
				return started
			}
			got := through(t, s, straw())
			require.Equal(t, wantRows, kept.rows, "%s %v", state, by)
			if state != "discharging" { // which ends within a tick or two
				require.Contains(t, codesIn(got.Findings), fault.ClockStepped, "%s %v", state, by)
			}
			got.Findings = want.Findings
			require.Equal(t, want, got)
		}
	}
}

// stepped tells whether a load has come to a state.
func stepped(now, state string) bool {
	order := map[string]int{"idle": 0, "checking": 1, "contact-check": 2, "ramping": 3, "holding": 4, "discharging": 5}
	at, under := order[now]
	return !under || at >= order[state]
}

func TestSmallMovesOfTheClockAreNoSteps(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var w wallClock
		off := time.Duration(0)
		for range 100 {
			off += 1900 * time.Millisecond // against a tick of 100 ms
			by, _ := w.step(time.Now().Add(off).Round(0))
			require.LessOrEqual(t, by.Abs(), steppedBy)
			pass(100 * time.Millisecond)
		}
		by, from := w.step(time.Now().Add(off + 3*time.Second).Round(0))
		assert.Equal(t, 3*time.Second, by)
		assert.Equal(t, time.Now().Add(off).Round(0), from)
	})
}

func TestClockThatWasNeverSetIsSaid(t *testing.T) {
	wall := time.Date(1970, 1, 1, 0, 3, 0, 0, time.UTC)
	s := newStand(50, Options{ClockWaits: true, BuildYear: 2026, WallClock: func() time.Time { return wall }})
	s.core.run(5)
	res := follow(t, s)
	assert.Equal(t, record.Complete, res.Outcome)
	assert.Equal(t, []fault.Code{fault.ClockNotSet}, codesIn(res.Findings))
	assert.Contains(t, res.Findings[0].Evidence[0], "1970-01-01 00:03:00Z")
	assert.Equal(t, "1", res.Run, "its number orders it")
	assert.False(t, ClockNotSet(wall, 0), "a build whose year is not known judges nothing")
}
