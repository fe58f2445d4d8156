package gpio

import (
	"math/rand/v2"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// openLid is a lid switch in a bubble with both contacts closed for a while.
func openLid(t *testing.T) (*board, *Interlock) {
	rig := lidRig(t)
	lid := rig.Interlock.(*Interlock)
	rig.Contacts(true, true)
	pass(time.Second)
	taken(lid)
	return lid.contacts.lines.(*board), lid
}

func taken(lid *Interlock) bool {
	select {
	case <-lid.Changed():
		return true
	default:
		return false
	}
}

func closed(t *testing.T, lid *Interlock) [2]bool {
	channels, err := lid.Channels(t.Context())
	require.NoError(t, err)
	return channels.Closed
}

func TestClosingIsBelievedAfterTwentyMilliseconds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, lid := openLid(t)
		for _, open := range []time.Duration{time.Microsecond, time.Millisecond, time.Second} {
			b.input(1, false)
			synctest.Wait()
			require.Equal(t, [2]bool{true, false}, closed(t, lid), "at once")
			pass(open)
			b.input(1, true)
			synctest.Wait()
			pass(19 * time.Millisecond)
			require.Equal(t, [2]bool{true, false}, closed(t, lid))
			pass(time.Millisecond)
			require.Equal(t, [2]bool{true, true}, closed(t, lid))
		}
	})
}

// A pulse that nobody polled is still a movement, and so is one that bounces.
func TestBounceKeepsTheChannelOpen(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, lid := openLid(t)
		random := rand.New(rand.NewPCG(1, 2))
		for range 200 {
			b.input(0, false)
			pass(time.Duration(random.IntN(3000)) * time.Microsecond)
			b.input(0, true)
			pass(time.Duration(random.IntN(19000)) * time.Microsecond)
			require.False(t, closed(t, lid)[0])
			require.True(t, taken(lid))
		}
	})
}

func TestLostEdgesAreAMovementOfBothChannels(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, lid := openLid(t)
		b.loseEdges(20)
		b.input(1, false)
		b.input(1, true)
		synctest.Wait()
		require.Equal(t, [2]bool{false, false}, closed(t, lid))
		require.True(t, taken(lid))
		pass(closesAfter)
		require.Equal(t, [2]bool{true, true}, closed(t, lid), "a missed edge is still a level")
	})
}

// TestOpeningsAreTimed: by the kernel's edges, from the first to the last of a bounce.
func TestOpeningsAreTimed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, lid := openLid(t)
		opened := func() [2]time.Duration {
			pass(closesAfter)
			channels, err := lid.Channels(t.Context())
			require.NoError(t, err)
			return channels.Opened
		}
		for name, c := range map[string]struct {
			pulses []time.Duration // open, closed, open ...
			want   time.Duration
		}{
			"a short one":         {[]time.Duration{100 * time.Microsecond}, 100 * time.Microsecond},
			"three milliseconds":  {[]time.Duration{3 * time.Millisecond}, 3 * time.Millisecond},
			"one that bounces":    {[]time.Duration{time.Millisecond, 2 * time.Millisecond, 3 * time.Millisecond}, 6 * time.Millisecond},
			"two that are two":    {[]time.Duration{time.Millisecond, 21 * time.Millisecond, 2 * time.Millisecond}, 2 * time.Millisecond},
			"somebody at the lid": {[]time.Duration{2 * time.Second}, 2 * time.Second},
		} {
			for i, lasts := range c.pulses {
				b.input(1, i%2 == 1)
				pass(lasts)
			}
			b.input(1, true)
			require.Equal(t, c.want, opened()[1], name)
		}
		require.Zero(t, opened()[0], "it never moved")
		b.input(1, false)
		require.Zero(t, opened()[1], "it is open")
		b.loseEdges(2)
		b.input(1, true)
		require.Zero(t, opened()[1], "nobody knows what was lost")
	})
}

func TestChipThatGoesAwayIsAnOpenLid(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, lid := openLid(t)
		close(b.events) // hang-up: the levels could still be read, the edges not
		synctest.Wait()
		assert.True(t, taken(lid), "the end is told as a movement")
		channels, err := lid.Channels(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		assert.Equal(t, [2]bool{}, channels.Closed)
	})
}

func TestContactorLinesOneByOne(t *testing.T) {
	b := newBoard()
	c := NewContactor(b.request(ContactorRequest(wiring())))
	require.Equal(t, dropBit, b.levels, "asked for with the pulse low and the one-shot cleared")
	for range 3 {
		require.NoError(t, c.Beat())
	}
	require.NoError(t, c.Halt())
	require.NoError(t, c.Halt())
	require.NoError(t, c.Beat())
	assert.Equal(t, []string{"0/10", "1/1", "0/1", "1/1", "10/11", "10/11", "0/10", "1/1"}, b.said)
}

// Halt may come from another goroutine at any time; run with the race detector.
func TestHaltFromAnotherGoroutine(t *testing.T) {
	b := newBoard()
	c := NewContactor(b.request(ContactorRequest(wiring())))
	done := make(chan struct{})
	go func() {
		defer close(done)
		for range 1000 {
			assert.NoError(t, c.Halt())
		}
	}()
	for range 1000 {
		assert.NoError(t, c.Beat())
	}
	<-done
	require.NoError(t, c.Halt())
	assert.Equal(t, dropBit, b.levels&(pulseBit|dropBit))
}
