package controller

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
	"anodized/hal"
	"anodized/hal/unit"
)

// slowLid takes its time to answer, and may stand still with the whole computer.
type slowLid struct {
	*bell
	takes, stands time.Duration
	standAt, asks int
}

func (l *slowLid) Channels(ctx context.Context) (hal.Channels, error) {
	l.asks++
	if l.asks == l.standAt {
		pass(l.stands) // nobody can cut what does not run
		return hal.Channels{}, hal.ErrTimeout
	}
	select {
	case <-ctx.Done():
		return hal.Channels{}, ctx.Err()
	case <-time.After(l.takes):
		return l.bell.Channels(ctx)
	}
}

// A lid that was not asked because the computer stood still is asked before it counts as
// open: what comes out is the control that was away, with its own name.
func TestLidIsAskedAgainAfterAStandstill(t *testing.T) {
	for name, c := range map[string]struct{ between, within time.Duration }{
		"between two ticks": {between: 3 * time.Second},
		"within the answer": {within: 3 * time.Second},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ticker, err := NewTicker(100 * time.Millisecond)
				require.NoError(t, err)
				s, b := belled(ticker)
				s.clock = ticker
				lid := &slowLid{bell: b, takes: 10 * time.Millisecond, stands: c.within}
				if c.within > 0 {
					lid.standAt = 6
				}
				s.devices.Interlock = lid
				ticks, unread := 0, 0
				s.core.decide = func(in *process.Input) process.Command {
					ticks++
					if ticks == 5 && c.between > 0 {
						pass(c.between)
					}
					if !in.Interlock.OK || in.Now-in.Interlock.At > process.LidAge {
						unread++
					}
					return on(process.Holding, 5, 1)
				}
				ctx, cancel := context.WithCancel(t.Context())
				ended := make(chan error)
				go func() { ended <- s.Run(ctx) }()
				pass(5050 * time.Millisecond) // between two ticks: the end cuts no answer off
				cancel()
				require.NoError(t, <-ended)
				assert.Zero(t, unread)
				assert.Greater(t, ticks, 10)
			})
		})
	}
}

// still is an emergency stop and a contactor that stand still with the whole computer, once.
type still struct {
	*bell
	stands string
	lasts  time.Duration
	asks   int
}

func (d *still) answer(what string) error {
	if what != d.stands {
		return nil
	}
	if d.asks++; d.asks != 6 {
		return nil
	}
	pass(d.lasts)
	return hal.ErrTimeout
}

func (d *still) Closed(context.Context) (bool, error) { return true, d.answer("contactor") }

func (d *still) Contacts(context.Context) (hal.Channels, error) {
	return hal.Channels{Closed: [2]bool{true, true}, At: time.Now()}, d.answer("stop")
}

// The same holds for the emergency stop and the mirror contact: a computer that stood still
// while it asked them finds all of the chain as it is now, and none of it pressed or stuck.
func TestTheWholeChainIsAskedAgainAfterAStandstill(t *testing.T) {
	for _, what := range []string{"contactor", "stop"} {
		t.Run(what, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ticker, err := NewTicker(100 * time.Millisecond)
				require.NoError(t, err)
				s, b := belled(ticker)
				s.clock = ticker
				d := &still{bell: b, stands: what, lasts: 800 * time.Millisecond}
				s.devices.Contactor, s.devices.EmergencyStop = d, d
				ticks := 0
				s.core.decide = func(in *process.Input) process.Command {
					ticks++
					assert.True(t, in.Interlock.OK && in.EmergencyStop.OK && in.Contactor.OK, "tick %d", ticks)
					for _, at := range []unit.Seconds{in.Interlock.At, in.EmergencyStop.At, in.Contactor.At} {
						assert.Less(t, in.Now-at, process.LidAge, "tick %d", ticks)
					}
					return on(process.Holding, 5, 1)
				}
				ctx, cancel := context.WithCancel(t.Context())
				ended := make(chan error)
				go func() { ended <- s.Run(ctx) }()
				pass(3050 * time.Millisecond)
				cancel()
				require.NoError(t, <-ended)
				assert.Greater(t, ticks, 10)
				assert.GreaterOrEqual(t, d.asks, 7, "it was asked again")
			})
		})
	}
}

// stillSupply stands still with the whole computer in its sixth reading.
type stillSupply struct {
	hal.Supply
	asks int
}

func (d *stillSupply) Measure(ctx context.Context) (hal.Sample, error) {
	if d.asks++; d.asks == 6 {
		pass(3 * time.Second)
		return hal.Sample{}, hal.ErrTimeout
	}
	return d.Supply.Measure(ctx)
}

// A computer that stood still while it asked the supply was away for that long: the step tells
// so in which the reading is missing, or the supply would be called silent.
func TestStandstillInAReadingIsTheControls(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(t, err)
		s, _ := belled(ticker)
		s.clock = ticker
		s.devices.Supply = &stillSupply{Supply: s.devices.Supply}
		before, away := unit.Seconds(0), unit.Seconds(0)
		s.core.decide = func(in *process.Input) process.Command {
			if !in.Reading.OK && away == 0 { // the first such step judges
				away = in.Now - before
			}
			before = in.Now
			return on(process.Holding, 5, 1)
		}
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error)
		go func() { ended <- s.Run(ctx) }()
		pass(5050 * time.Millisecond)
		cancel()
		require.NoError(t, <-ended)
		assert.Greater(t, float64(away), 2.9)
	})
}
