package virtual

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestAPersonWhoStaysHangsTheNextRack: after each load, once the cell is dead; and once
// more where a load is set up long after that.
func TestAPersonWhoStaysHangsTheNextRack(t *testing.T) {
	b := newBench(t, Setup{PersonWaits: true, PersonStays: true})
	ctx := context.Background()
	opened := func(within time.Duration) (times int) {
		was := false
		for end := b.now + within; b.now < end; {
			b.AdvanceTo(b.now + 100*time.Millisecond)
			if is := b.Truth().LidOpen; is != was {
				was = is
				times++
			}
		}
		return times
	}
	require.Zero(t, opened(10*time.Second), "nobody came")
	for range 3 {
		arrive(b)
		_, err := b.Supply().SetCurrent(ctx, 1)
		require.NoError(t, err)
		_, err = b.Supply().SetVoltage(ctx, 20)
		require.NoError(t, err)
		require.LessOrEqual(t, opened(5*time.Second), 2)
		require.NoError(t, b.Supply().Energise(ctx))
		require.Zero(t, opened(60*time.Second), "never with the output on")
		require.Greater(t, b.Truth().Film[0], 20.0)
		require.NoError(t, b.Supply().Halt(ctx))
		require.Zero(t, opened(4*time.Second))
		require.Equal(t, 2, opened(10*time.Second), "opened and closed")
		require.Less(t, b.Truth().Film[0], 5.0, "a bare rack hangs")
	}
	require.Zero(t, opened(200*time.Second))
	_, err := b.Supply().SetCurrent(ctx, 1)
	require.NoError(t, err)
	require.Equal(t, 2, opened(10*time.Second), "the rack was looked at once more")
	_, err = b.Supply().SetCurrent(ctx, 0.5)
	require.NoError(t, err)
	require.Zero(t, opened(10*time.Second))
	_, err = b.Supply().SetCurrent(ctx, 0)
	require.NoError(t, err)
	require.Equal(t, 2, opened(10*time.Second), "a load that was never energised has ended")
	require.Zero(t, opened(20*time.Second))
}

func arrive(b *Bench) { b.Exchange(b.now, func() { b.Arrived(false) }) }
