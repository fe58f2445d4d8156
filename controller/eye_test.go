package controller

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
)

// afterStop stops a ramping load and asks; then does something at a later tick. It
// returns what the record holds, and the ticks from the stop to its result.
func afterStop(t *testing.T, s *stand, later int, does func()) (res record.Result, waited int) {
	t.Helper()
	s.core.run(1000)
	decide, ramped := s.core.decide, 0
	s.core.decide = func(in *process.Input) process.Command {
		c := decide(in)
		if c.State == process.Ramping || ramped > 0 {
			ramped++
		}
		switch ramped {
		case 3:
			s.StopAndAsk("the page")
		case 3 + later:
			does()
		}
		if ramped > 3 && s.shelf.finished() == 0 {
			waited++
		}
		return c
	}
	events, cancel := s.Subscribe(1000)
	defer cancel()
	require.NoError(t, s.Start(request()))
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	for ev := range events {
		if ev.Kind == KindResult {
			return *ev.Result, waited
		}
	}
	t.Fatal("no result")
	return res, waited
}

func TestGoodByEyeIsAskedAfterTheStop(t *testing.T) {
	s := newStand(400, Options{ClockWaits: true})
	s.core.found = []fault.Finding{{Code: fault.UnderFormed}, {Code: fault.RecordGap}}
	var asked *Question
	res, waited := afterStop(t, s, 20, func() {
		asked = s.Snapshot().Question
		require.NoError(t, s.Answer(true))
	})
	require.NotNil(t, asked)
	assert.Equal(t, GoodByEye, asked.Code)
	assert.InDelta(t, 18, float64(asked.Left), 0.5)
	assert.Equal(t, record.Stopped, res.Outcome)
	assert.True(t, res.ByEye)
	assert.Equal(t, []string{"the page"}, res.Reasons)
	assert.Equal(t, []fault.Code{fault.RecordGap}, codesOf(res), "a film that was wanted so is not under-formed")
	assert.Less(t, waited, 30, "the answer closes the record")
	assert.Nil(t, s.Snapshot().Question)
}

func TestSilenceAndNoAreAStopLikeAnyOther(t *testing.T) {
	for name, answers := range map[string]bool{"no": true, "silence": false} {
		s := newStand(400, Options{ClockWaits: true})
		s.core.found = []fault.Finding{{Code: fault.UnderFormed}}
		res, waited := afterStop(t, s, 20, func() {
			if answers {
				require.NoError(t, s.Answer(false))
			}
		})
		assert.False(t, res.ByEye, name)
		assert.Equal(t, []fault.Code{fault.UnderFormed}, codesOf(res), name)
		if !answers {
			assert.InDelta(t, 200, waited, 5, "ticks of a tenth of a second")
		}
		assert.Len(t, s.shelf.results, 1, name)
	}
}

func TestStopByEyeAnswersTheQuestion(t *testing.T) {
	s := newStand(400, Options{ClockWaits: true})
	res, _ := afterStop(t, s, 10, func() { s.Stop(true, "the terminal") })
	assert.True(t, res.ByEye)
	assert.Equal(t, []string{"the page"}, res.Reasons, "who stopped")
}

func TestNextStartDoesNotWaitForTheAnswer(t *testing.T) {
	s := newStand(400, Options{ClockWaits: true})
	res, waited := afterStop(t, s, 20, func() { require.NoError(t, s.Start(request())) })
	assert.False(t, res.ByEye)
	assert.Less(t, waited, 40)
	assert.Len(t, s.shelf.intents, 2, "the start came after the record was closed")
}

func TestStopWhileNothingGrowsAsksNobody(t *testing.T) {
	s := newStand(50, Options{ClockWaits: true})
	s.core.run(1000)
	require.NoError(t, s.Start(request()))
	s.StopAndAsk("the page") // the start is dropped with it
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Nil(t, s.Snapshot().Question)
	assert.ErrorIs(t, s.Answer(true), ErrNoQuestion)
}

func (s *shelf) finished() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.results)
}

func codesOf(res record.Result) []fault.Code {
	var list []fault.Code
	for _, one := range res.Findings {
		list = append(list, one.Code)
	}
	return list
}
