package controller

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
	"anodized/hal"
)

// shut is a lid that was opened once, early in the first second, and from then on only
// seems to move: one contact bounces after the gap.
type shut struct {
	pace *steps
	each func(step int)
}

const (
	gapAt     = 20 // steps, so the lid was last seen open 1 s before
	bouncedAt = gapAt + 1
)

func (l *shut) Channels(context.Context) (hal.Channels, error) {
	step := l.pace.done
	if l.each != nil {
		l.each(step)
	}
	open := step > 5 && step <= 10
	return hal.Channels{Closed: [2]bool{!open && step != bouncedAt, !open}, At: l.pace.now()}, nil
}

func standsUnmoved(gap time.Duration, ticks int) (*Station, *shut) {
	pace := newSteps(ticks)
	pace.gaps = map[int]time.Duration{gapAt: gap}
	lid, w := &shut{pace: pace}, newWire(pace.now)
	return New(Devices{Supply: w, Interlock: lid, Simulated: true}, pace, &shelf{}, quiet(), Options{ClockWaits: true}), lid
}

// TestALidThatWasNotMovedForLongIsToldSo: over the API the start is refused, and it is said
// for how long the lid was not moved and what to do.
func TestALidThatWasNotMovedForLongIsToldSo(t *testing.T) {
	for name, c := range map[string]struct {
		gap  time.Duration
		says string // "" where the lid is no reason
	}{
		"a moment ago":                {0, ""},
		"three minutes less a moment": {175 * time.Second, ""},
		"three minutes and a moment":  {181 * time.Second, "it was last seen open 3 min ago"},
		"twelve hours less a moment":  {12*time.Hour - 4*time.Second, "it was last seen open 11 h 59 min ago"},
		"twelve hours and a moment":   {12 * time.Hour, "it was last seen open 12 h 0 min ago"},
	} {
		t.Run(name, func(t *testing.T) {
			s, _ := standsUnmoved(c.gap, 40)
			require.ErrorIs(t, s.Run(context.Background()), errEnough)
			wanted := Request{Plan: straw()}
			wanted.LidFirst = true
			err := s.Start(wanted)
			if c.says == "" {
				assert.NotErrorIs(t, err, ErrLidFirst)
				return
			}
			require.ErrorIs(t, err, ErrLidFirst)
			assert.ErrorContains(t, err, c.says)
			assert.ErrorContains(t, err, "open the lid, hang the rack, close it")
		})
	}
}

func TestALidThatWasNeverSeenOpenIsToldSo(t *testing.T) {
	s := newStand(3, Options{ClockWaits: true})
	wanted := request()
	wanted.LidFirst = true
	require.ErrorContains(t, s.Start(wanted), "it was not seen open in the 0 s since this program began")
}

// TestARunThatWaitedForTheLidSaysHowLongItWasNotMoved: a start from the bench waits, is
// refused after three minutes, and says the same.
func TestARunThatWaitedForTheLidSaysHowLongItWasNotMoved(t *testing.T) {
	s, lid := standsUnmoved(12*time.Hour, 2000)
	lid.each = func(step int) {
		if step == 30 {
			assert.NoError(t, s.Start(Request{Plan: straw()}))
		}
	}
	events, _ := s.Subscribe(5000)
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	var res *record.Result
	for event := range events {
		if event.Result != nil {
			res = event.Result
		}
	}
	require.NotNil(t, res)
	assert.Equal(t, record.Refused, res.Outcome)
	reasons := strings.Join(res.Reasons, "\n")
	assert.Contains(t, reasons, "within 3 minutes: open it, hang the rack, close it")
	assert.Contains(t, reasons, "the lid: it was last seen open 12 h 3 min ago")
}
