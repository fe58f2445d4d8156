package controller

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
)

// refuseAfter is a pure core that checks for some ticks, and then refuses.
func (m *script) refuseAfter(ticks int, c process.Command) {
	state, left := process.Idle, ticks
	m.decide = func(in *process.Input) process.Command {
		switch {
		case in.Event == process.Start:
			state = process.Checking
		case in.Event == process.Stop:
			state = process.Refused
		case state == process.Checking && left > 0:
			left--
		case state == process.Checking:
			state = process.Refused
		}
		now := c
		now.State = state
		if state != process.Refused {
			now.Trip = ""
		}
		return now
	}
}

// A load that was never energised is in the record, whole and under its name: what
// was asked, and why not.
func TestRefusedLoadIsKept(t *testing.T) {
	s := newStand(80, Options{ClockWaits: true})
	s.core.refuseAfter(3, process.Command{Reasons: process.LidOpen})
	requireKept(t, s, follow(t, s))
}

func TestRefusedLoadIsKeptInRealTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newStand(0, Options{})
		s.core.refuseAfter(3, process.Command{Reasons: process.LidOpen})
		res, end := startInRealTime(t, s)
		requireKept(t, s, res)
		end()
	})
}

func requireKept(t *testing.T, s *stand, res record.Result) {
	t.Helper()
	assert.Equal(t, record.Refused, res.Outcome)
	assert.Equal(t, "1", res.Run)
	require.Len(t, res.Reasons, 1)
	assert.Contains(t, res.Reasons[0], "the lid is open")
	require.Equal(t, []string{"begin", "finish"}, s.shelf.order, "no row: nothing was energised")
	assert.Equal(t, "p", s.shelf.intents[0].Plan.ID)
	assert.Equal(t, res.Reasons, s.shelf.results[0].Reasons)
}

func TestRefusedLoadWithoutADiskSaysSo(t *testing.T) {
	s := newStand(80, Options{ClockWaits: true})
	s.core.refuseAfter(3, process.Command{Reasons: process.LidOpen})
	s.shelf.begin = func(context.Context) error { return errors.New("no room") }
	s.shelf.finish = func(context.Context) error { return errors.New("no run is open") }
	res := follow(t, s)
	assert.Equal(t, record.Refused, res.Outcome)
	assert.Empty(t, res.Run)
	require.Len(t, res.Findings, 1)
	assert.Equal(t, fault.JournalUnwritable, res.Findings[0].Code)
	assert.Equal(t, []string{"no room"}, res.Findings[0].Evidence)
}

// The end of the program while the lid is waited for is no run that was stopped.
func TestEndOfTheStationWhileCheckingIsARefusal(t *testing.T) {
	s := newStand(5, Options{ClockWaits: true})
	s.core.refuseAfter(100, process.Command{Reasons: process.LidNotCycled})
	res := follow(t, s)
	assert.Equal(t, record.Refused, res.Outcome)
	assert.Equal(t, "1", res.Run)
	assert.Contains(t, res.Reasons[len(res.Reasons)-1], "the station was shut down")
}

// A trip is a finding of the run that it ended, at the moment when it was seen.
func TestTripIsAmongTheFindings(t *testing.T) {
	s := newStand(60, Options{ClockWaits: true})
	s.core.run(5)
	decide := s.core.decide
	tripped := false
	s.core.decide = func(in *process.Input) process.Command {
		c := decide(in)
		tripped = tripped || c.State == process.Complete
		if tripped {
			c.State, c.Trip = process.Tripped, fault.InterlockOpen
		}
		return c
	}
	res := follow(t, s)
	require.NotNil(t, res.Trip)
	require.Len(t, res.Findings, 1)
	found := res.Findings[0]
	assert.Equal(t, res.Trip.Code, found.Code)
	assert.Equal(t, fault.Fault, found.Severity)
	assert.Equal(t, res.Trip.Action, found.Action)
	assert.Positive(t, found.AtSeconds)
}
