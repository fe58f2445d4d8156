package controller

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	_ "anodized/hal/haltest/draw" // the same cases on each run
)

func TestStopOvertakesTheStartBeforeIt(t *testing.T) {
	s := newStand(20, Options{ClockWaits: true})
	s.core.run(5)
	events, cancel := s.Subscribe(100)
	defer cancel()
	require.NoError(t, s.Start(request()))
	s.Stop(false, "changed my mind")
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	ev := <-events
	require.Equal(t, KindResult, ev.Kind)
	assert.Equal(t, record.Refused, ev.Result.Outcome)
	assert.Equal(t, []string{"stopped before it began: changed my mind"}, ev.Result.Reasons)
	assert.Zero(t, s.core.loaded)
	assert.NotContains(t, s.wire.lines(), "on")
}

// However starts and stops come in, a start that was asked before a stop never
// comes out after it.
func TestStartNeverOvertakesAStop(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var box orders
		stopped := false // since the last start
		for range rapid.IntRange(1, 30).Draw(t, "asked") {
			switch rapid.IntRange(0, 2).Draw(t, "what") {
			case 0:
				if box.askStart(request()) == nil {
					stopped = false
				}
			case 1:
				box.askStop(process.Stop, "")
				stopped = true
			case 2:
				taken := box.take()
				if taken.event == process.Start && stopped {
					t.Fatal("a start came out after the stop that followed it")
				}
			}
		}
	})
}

func TestStopInIdleStillSwitchesOff(t *testing.T) {
	s := newStand(2, Options{}, off(process.Idle, 0))
	s.Stop(false, "to be sure")
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Equal(t, []string{"off", "off", "curr 0.00", "volt 0.00", "off"}, only(s.wire.lines()))
	assert.Equal(t, process.NoEvent, s.core.inputs[0].Event, "nothing is under way that could be stopped")
}

func TestOneStartAtATime(t *testing.T) {
	s := newStand(10, Options{ClockWaits: true})
	s.core.run(1000)
	require.NoError(t, s.Start(request()))
	require.ErrorIs(t, s.Start(request()), ErrBusy)
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	require.ErrorIs(t, s.Start(request()), ErrBusy)
}

func TestLatchedTripRefusesAStart(t *testing.T) {
	s := newStand(2, Options{}, process.Command{State: process.Tripped, Trip: fault.ShortCircuit})
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	require.ErrorIs(t, s.Start(request()), ErrLatched)
	trip := s.Snapshot().Trip
	require.NotNil(t, trip)
	assert.Equal(t, fault.ShortCircuit, trip.Code)
	assert.NotEmpty(t, trip.Message)
	assert.NotEmpty(t, trip.Action)
}

func TestAnswersOnlyWhereThereIsAQuestion(t *testing.T) {
	s := newStand(1, Options{}, off(process.Idle, 0))
	require.ErrorIs(t, s.Answer(true), ErrNoQuestion)
	require.ErrorIs(t, s.Acknowledge("Ida"), ErrNothingToDo)
	require.ErrorIs(t, s.Acknowledge(" "), ErrNobody)

	s = newStand(3, Options{})
	s.core.decide = func(in *process.Input) process.Command {
		if len(s.core.inputs) == 2 {
			assert.NoError(t, s.Answer(true))
		}
		return process.Command{State: process.ContactCheck, On: true, Set: 8, Limit: 1, Question: fault.AreaOverstated}
	}
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Equal(t, process.GoOn, s.core.inputs[2].Event)
	assert.Contains(t, s.Snapshot().Question.Text, "Go on?")
}

func TestAcknowledgementOfARefusedLoadReachesTheProcess(t *testing.T) {
	s := newStand(3, Options{})
	s.core.decide = func(*process.Input) process.Command {
		if len(s.core.inputs) == 2 {
			assert.NoError(t, s.Acknowledge("Ida"))
		}
		return process.Command{State: process.Refused, Trip: fault.SupplyOutOfStep}
	}
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Equal(t, process.Acknowledge, s.core.inputs[2].Event)
}

func TestOrderThatComesTooLateIsDropped(t *testing.T) {
	s := newStand(3, Options{}, off(process.Idle, 0))
	s.orders.askAnswer(process.GoOn)
	s.orders.askAcknowledge("Ida")
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	for _, in := range s.core.inputs {
		assert.Equal(t, process.NoEvent, in.Event, "an event that is illegal by now does not reach the process")
	}
}

// A start from afar never waits for whoever closes the lid.
func TestStartThatWantsTheLidFirstIsRefusedWithoutIt(t *testing.T) {
	s := newStand(3, Options{ClockWaits: true})
	s.core.run(5)
	wanted := request()
	wanted.LidFirst = true
	require.ErrorIs(t, s.Start(wanted), ErrLidFirst, "nothing was read yet")
	s.core.cycled = true
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.NotErrorIs(t, s.Start(wanted), ErrLidFirst, "the tick has seen it")
}

func TestStartWithTheLidFirstTellsTheProcess(t *testing.T) {
	for _, first := range []bool{true, false} {
		s := newStand(5, Options{ClockWaits: true})
		s.core.run(5)
		s.lidSeen.cycled.Store(true)
		wanted := request()
		wanted.LidFirst = first
		require.NoError(t, s.Start(wanted))
		require.ErrorIs(t, s.Run(context.Background()), errEnough)
		assert.Equal(t, first, s.core.inputs[len(s.core.inputs)-1].LidFirst)
	}
}
