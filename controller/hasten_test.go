package controller

import (
	"context"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
)

// Off goes out between two ticks too: neither a lid that calls nor a person waits for
// the next one. In the time of the bubble waiting would show.
func TestOffDoesNotWaitForTheNextTick(t *testing.T) {
	for name, ends := range map[string]func(*Station, *bell){
		"lid":  func(_ *Station, b *bell) { b.rings <- struct{}{} },
		"stop": func(s *Station, _ *bell) { s.Stop(false, "by a person") },
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ticker, err := NewTicker(100 * time.Millisecond)
				require.NoError(t, err)
				s, b := belled(ticker)
				var ticks atomic.Int64
				s.core.decide = func(in *process.Input) process.Command {
					ticks.Add(1)
					if in.Interlock.Moved || in.Event == process.Stop {
						return off(process.Discharging, 1)
					}
					return on(process.Holding, 5, 1)
				}
				ctx, cancel := context.WithCancel(t.Context())
				ended := make(chan error)
				go func() { ended <- s.Run(ctx) }()
				pass(437 * time.Millisecond)
				require.True(t, s.wire.isOn())
				ends(s.Station, b)
				synctest.Wait()
				assert.False(t, s.wire.isOn(), "at once")
				pass(62 * time.Millisecond)
				synctest.Wait()
				assert.EqualValues(t, 6, ticks.Load())
				pass(2 * time.Millisecond)
				synctest.Wait()
				assert.EqualValues(t, 7, ticks.Load(), "the grid stays where it was")
				cancel()
				require.NoError(t, <-ended)
			})
		})
	}
}

// A lid switch that falls silent counts as open half a second after its last answer, and
// off goes out then, also while the supply hangs: neither exchange is waited for.
func TestSilentLidIsOpenInTimeWhateverHangs(t *testing.T) {
	for _, hangs := range [][]string{{"lid"}, {"lid", "measure"}, {"lid", "measure", "check"}} {
		t.Run(strings.Join(hangs, " and "), func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ticker, err := NewTicker(100 * time.Millisecond)
				require.NoError(t, err)
				s, b := belled(ticker)
				s.clock = ticker
				s.core.decide = func(in *process.Input) process.Command {
					if in.Now-in.Interlock.At > process.LidAge {
						return off(process.Discharging, 1)
					}
					return on(process.Holding, 5, 1)
				}
				ctx, cancel := context.WithCancel(t.Context())
				ended := make(chan error)
				go func() { ended <- s.Run(ctx) }()
				pass(401 * time.Millisecond)
				b.change(func() {
					for _, what := range hangs {
						s.wire.hang[what] = true
					}
				})
				pass(490 * time.Millisecond)
				synctest.Wait()
				assert.True(t, s.wire.isOn(), "the last answer still counts")
				pass(20 * time.Millisecond)
				synctest.Wait()
				assert.False(t, s.wire.isOn())
				cancel()
				require.NoError(t, <-ended)
			})
		})
	}
}

// A person's stop waits for nobody else: not for a lid switch on a module that has fallen
// silent, nor for a supply that hangs, before or after it.
func TestAStopWaitsForNoSilentLid(t *testing.T) {
	for _, hangs := range [][]string{{"lid"}, {"lid", "measure"}} {
		synctest.Test(t, func(t *testing.T) {
			ticker, err := NewTicker(100 * time.Millisecond)
			require.NoError(t, err)
			s, b := belled(ticker)
			s.core.decide = func(in *process.Input) process.Command {
				if in.Event == process.Stop {
					return off(process.Discharging, 1)
				}
				return on(process.Holding, 5, 1)
			}
			ctx, cancel := context.WithCancel(t.Context())
			ended := make(chan error)
			go func() { ended <- s.Run(ctx) }()
			pass(401 * time.Millisecond)
			b.change(func() {
				for _, what := range hangs {
					s.wire.hang[what] = true
				}
			})
			pass(36 * time.Millisecond)
			require.True(t, s.wire.isOn())
			s.Stop(false, "by a person")
			synctest.Wait()
			assert.False(t, s.wire.isOn(), "at once, while %v hangs", hangs)
			cancel()
			require.NoError(t, <-ended)
		})
	}
}

func TestHastenedTickStandsBesideTheGrid(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(t, err)
		began := time.Now()
		next := func() time.Duration {
			at, err := ticker.Next(t.Context())
			require.NoError(t, err)
			return at.Sub(began)
		}
		ms := time.Millisecond
		assert.Equal(t, []time.Duration{0, 100 * ms}, []time.Duration{next(), next()})
		time.AfterFunc(30*ms, ticker.Hasten)
		assert.Equal(t, []time.Duration{130 * ms, 200 * ms}, []time.Duration{next(), next()})
		ticker.Hasten()
		ticker.Hasten()
		assert.Equal(t, []time.Duration{200 * ms, 300 * ms}, []time.Duration{next(), next()}, "two calls are one")
	})
}

// TestFloodOfStopsHastensNothing where nothing is energised: ticks come on their grid.
func TestFloodOfStopsHastensNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(t, err)
		s, _ := belled(ticker)
		var ticks atomic.Int64
		s.core.decide = func(*process.Input) process.Command {
			ticks.Add(1)
			return off(process.Idle, 0)
		}
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error)
		go func() { ended <- s.Run(ctx) }()
		for range 950 {
			pass(time.Millisecond)
			s.Stop(false, "by a person")
		}
		synctest.Wait()
		assert.EqualValues(t, 10, ticks.Load())
		cancel()
		require.NoError(t, <-ended)
	})
}
