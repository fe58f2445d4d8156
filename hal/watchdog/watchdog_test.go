package watchdog

import (
	"errors"
	"log/slog"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// counter is a watchdog in simulated time: it resets the board when it was not fed.
type counter struct {
	mu      sync.Mutex
	fed     []time.Time
	said    []string
	failing error
	stalled chan struct{}
}

func (c *counter) feed() error {
	if c.stalled != nil {
		<-c.stalled
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.fed = append(c.fed, time.Now())
	return c.failing
}

func (c *counter) disarm() error { c.said = append(c.said, "V"); return nil }
func (c *counter) Close() error  { c.said = append(c.said, "close"); return nil }

func (c *counter) longest(t *testing.T, from time.Time) (longest time.Duration) {
	t.Helper()
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, at := range c.fed {
		longest = max(longest, at.Sub(from))
		from = at
	}
	return max(longest, time.Since(from))
}

func (c *counter) times() []time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return slices.Clone(c.fed)
}

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

func pass(d time.Duration) { <-time.After(d) }

// Ten and five turns a second feed it alike, far within its time, and no turn feeds it
// more often than four times in that.
func TestBeatsFeedInTime(t *testing.T) {
	for _, tick := range []time.Duration{100 * time.Millisecond, 200 * time.Millisecond, 900 * time.Millisecond} {
		synctest.Test(t, func(t *testing.T) {
			c, began := &counter{}, time.Now()
			d := keep(c, Usual, quiet())
			for range int(2 * time.Minute / tick) {
				d.Beat()
				pass(tick)
			}
			assert.LessOrEqual(t, c.longest(t, began), Usual/4+tick)
			assert.LessOrEqual(t, len(c.times()), 33)
			require.NoError(t, d.Close(true))
			assert.Equal(t, []string{"V", "close"}, c.said)
		})
	}
}

func TestLoopThatHangsIsNotFed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := &counter{}
		d := keep(c, Usual, quiet())
		d.Beat()
		pass(time.Hour)
		assert.Len(t, c.times(), 1, "no timer feeds it")
		require.NoError(t, d.Close(false))
		assert.Equal(t, []string{"close"}, c.said, "an end that is not clean leaves it armed")
	})
}

func TestBeatNeverWaitsForTheDevice(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := &counter{stalled: make(chan struct{}), failing: errors.New("gone")}
		d := keep(c, Least, quiet())
		before := time.Now()
		for range 100 {
			d.Beat()
		}
		assert.Equal(t, before, time.Now())
		for range 100 {
			pass(100 * time.Millisecond)
			d.Beat()
		}
		assert.Equal(t, 10*time.Second, time.Since(before))
		close(c.stalled)
		require.NoError(t, d.Close(true))
		require.NoError(t, d.Close(true), "a second time does nothing")
		assert.Equal(t, []string{"V", "close"}, c.said)
	})
}

func TestTimesOutsideOfTheirBoundsAreRefused(t *testing.T) {
	for _, within := range []time.Duration{0, 4 * time.Second, 2 * time.Minute} {
		_, err := Open("/dev/null", within, quiet())
		require.ErrorContains(t, err, "from 5s to 1m0s")
	}
}
