package controller

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
	"anodized/hal"
)

// relay is a contactor behind a one-shot: closed while it is beaten.
type relay struct {
	wire   *wire
	beaten bool
	welded bool
	stuck  bool // open
	unread error
}

func (r *relay) Beat() error {
	r.beaten = true
	return r.wire.say(context.Background(), "beat", "beat")
}

func (r *relay) Closed(context.Context) (bool, error) {
	return r.welded || r.beaten && !r.stuck, r.unread
}

func (r *relay) Halt() error {
	r.beaten = false
	return r.wire.say(context.Background(), "drop", "drop")
}

func withContactor(ticks int) (*stand, *relay) {
	s := newStand(ticks, Options{ClockWaits: true})
	contactor := &relay{wire: s.wire}
	s.devices.Contactor, s.enable.contactor = contactor, contactor
	return s, contactor
}

func TestContactorIsSeenClosedBeforeTheOutputGoesOn(t *testing.T) {
	s, _ := withContactor(20)
	s.core.run(3)
	follow(t, s)
	lines := only(s.wire.lines())
	on, firstBeat := index(lines, "on"), index(lines, "beat")
	require.Positive(t, on)
	assert.Less(t, firstBeat, on, "%v", lines)
	assert.Equal(t, []string{"drop", "off"}, lines[:2], "both off paths come first, whatever is closed")

	s, contactor := withContactor(20)
	contactor.stuck = true
	s.core.run(3)
	follow(t, s)
	assert.NotContains(t, s.wire.lines(), "on", "a contactor that is not seen closed keeps the output off")
}

func index(lines []string, line string) int {
	for i := range lines {
		if lines[i] == line {
			return i
		}
	}
	return -1
}

func TestBothOffPathsAreTriedWhateverFails(t *testing.T) {
	for _, broken := range []string{"drop", "off"} {
		s, _ := withContactor(1)
		s.core.commands = []process.Command{off(process.Idle, 0)}
		s.wire.fail[broken] = hal.ErrGone
		require.ErrorIs(t, s.Run(context.Background()), hal.ErrGone)
		assert.Equal(t, []string{"drop", "off"}, s.wire.lines()[:2])
	}
}

func TestOnlyFinishedTicksBeat(t *testing.T) {
	s, _ := withContactor(3)
	s.core.decide = func(*process.Input) process.Command {
		assert.Equal(t, len(s.core.inputs)-1, count(s.wire.lines(), "beat"), "the beat comes after everything else of its tick")
		return on(process.Holding, 5, 1)
	}
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Equal(t, 3, count(s.wire.lines(), "beat"))
}

func count(lines []string, line string) (n int) {
	for i := range lines {
		if lines[i] == line {
			n++
		}
	}
	return n
}

func TestSafeToOpenSaysNoMoreThanIsProven(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*stand, *relay)
		why    string
	}{
		"proven":        {func(*stand, *relay) {}, ""},
		"no contactor":  {func(s *stand, _ *relay) { s.devices.Contactor = nil }, "bleed lead"},
		"no bleed":      {func(s *stand, _ *relay) { s.devices.Unbled = true }, "no bleed resistor is known of"},
		"just opened":   {func(*stand, *relay) {}, "bleed resistor"},
		"welded":        {func(_ *stand, r *relay) { r.welded = true }, "not seen open"},
		"mirror unread": {func(_ *stand, r *relay) { r.unread = hal.ErrGone }, "not seen open"},
		"output on":     {func(s *stand, _ *relay) { s.core.commands[0] = on(process.Holding, 5, 1) }, "not confirmed to be off"},
	} {
		t.Run(name, func(t *testing.T) {
			s, contactor := withContactor(35)
			s.core.commands = []process.Command{off(process.Idle, 0)}
			c.change(s, contactor)
			if name == "just opened" {
				s.pace.left = 20
			}
			require.ErrorIs(t, s.Run(context.Background()), errEnough)
			got := s.Snapshot().SafeToOpen
			assert.Equal(t, name == "proven", got.Proven, "%+v", got)
			assert.Contains(t, got.Why, c.why)
		})
	}
}
