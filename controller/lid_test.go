package controller

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/virtual"
)

// lifted is a lid that somebody lifts at a moment, and the pacer that looks, at
// the end of the tick that saw it, whether the output is off.
type lifted struct {
	bench   *virtual.Bench
	at      time.Duration // after the first energised second
	channel int           // 0 or 1; 2: both
	seen    bool          // the Station has read it
	before  bool          // the output was powered when it did
	late    int           // ticks that ended with power after that
	truth   virtual.Truth
}

func (l *lifted) Channels(ctx context.Context) (hal.Channels, error) {
	read, err := l.bench.Interlock().Channels(ctx)
	l.bench.TruthInto(&l.truth)
	truth := &l.truth
	if !l.seen && (!truth.Energised || truth.RunSeconds < l.at.Seconds()) {
		return read, err
	}
	if !l.seen {
		l.seen, l.before = true, truth.Powered
	}
	for i := range read.Closed {
		read.Closed[i] = read.Closed[i] && l.channel != i && l.channel != 2
	}
	return read, err
}

func (l *lifted) Next(ctx context.Context) (time.Time, error) {
	l.bench.TruthInto(&l.truth)
	if l.seen && l.truth.Powered {
		l.late++
	}
	return l.bench.Next(ctx)
}

func TestLidOpenedAtAThousandRandomMoments(t *testing.T) {
	const moments, longest = 1000, 8.0
	random := rand.New(rand.NewPCG(1, 2))
	powered := 0
	for range moments {
		seed, at := random.Uint64(), time.Duration(random.Float64()*longest*float64(time.Second))
		channel := random.IntN(3)
		s, bench, _ := hung(t, seed)
		lid := &lifted{bench: bench, at: at, channel: channel}
		s.devices.Interlock, s.pacer = lid, lid
		res := through(t, s, straw())
		require.Zero(t, lid.late, "seed %d: lid lifted at %v, channel %d: power after the tick that saw it", seed, at, channel)
		require.False(t, bench.Truth().Powered)
		if lid.before {
			powered++
			require.Equal(t, record.Tripped, res.Outcome, "seed %d at %v", seed, at)
			require.Equal(t, fault.InterlockOpen, res.Trip.Code)
		}
	}
	assert.Greater(t, powered, moments/2, "most of the moments must be in the energised part, or this shows nothing")
}
