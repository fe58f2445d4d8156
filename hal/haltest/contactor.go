package haltest

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// ContactorRig is a contactor with its one-shot, and the hands on both.
type ContactorRig struct {
	Contactor hal.Contactor
	Power     func() bool // whether its power contacts really are closed
	Wait      func(d time.Duration)
	OneShot   time.Duration
	Moves     time.Duration // pull-in and release, at most
	Weld      func()        // the power contacts stay closed from now on
	Gone      func()        // its lines cannot be reached any more
}

// ContactorSuite says how to build rigs.
type ContactorSuite struct {
	Run  func(t *testing.T, test func(t *testing.T))
	Open func(t *testing.T) ContactorRig
	Tell func(test, outcome string) // may be nil
}

// Contactor holds a contactor against its contract.
func Contactor(t *testing.T, suite ContactorSuite) {
	each(t, suite.Run, suite.Tell, suite.Open, []contractTest[ContactorRig]{
		{"ContactorStartsOpen", nil, contactorStartsOpen},
		{"BeatsHoldIt", nil, beatsHoldIt},
		{"SilenceDropsIt", nil, silenceDropsIt},
		{"HaltDropsItAtOnce", nil, haltDropsIt},
		{"ContactorHaltIdempotent", nil, haltTwice},
		{"BeatAfterHaltClosesAgain", nil, beatAfterHalt},
		{"WeldIsSeen", func(r ContactorRig) bool { return r.Weld != nil }, weldIsSeen},
		{"UnreachableContactorIsError", func(r ContactorRig) bool { return r.Gone != nil }, contactorGone},
		{"CancelledMirrorIsError", nil, mirrorCancelled},
	})
}

// expect: what it says is what it does.
func (r ContactorRig) expect(t *testing.T, want bool) {
	require.Equal(t, want, r.Power())
	closed, err := r.Contactor.Closed(context.Background())
	require.NoError(t, err)
	require.Equal(t, want, closed)
}

// hold beats ten times a second.
func (r ContactorRig) hold(t *testing.T, beats int) {
	for range beats {
		require.NoError(t, r.Contactor.Beat())
		r.Wait(100 * time.Millisecond)
	}
}

func contactorStartsOpen(t *testing.T, r ContactorRig) {
	r.expect(t, false)
	r.Wait(2 * r.OneShot)
	r.expect(t, false)
}

func beatsHoldIt(t *testing.T, r ContactorRig) {
	r.hold(t, 1)
	for range 50 {
		r.expect(t, true)
		r.hold(t, 1)
	}
}

func silenceDropsIt(t *testing.T, r ContactorRig) {
	for _, beats := range []int{1, 2, 5, 6} {
		r.hold(t, beats)
		r.expect(t, true)
		r.Wait(r.OneShot + r.Moves)
		r.expect(t, false)
	}
}

func haltDropsIt(t *testing.T, r ContactorRig) {
	for _, beats := range []int{1, 2, 5} {
		r.hold(t, beats)
		require.NoError(t, r.Contactor.Halt())
		r.Wait(r.Moves)
		r.expect(t, false)
	}
}

func haltTwice(t *testing.T, r ContactorRig) {
	for range 3 {
		require.NoError(t, r.Contactor.Halt())
	}
	r.Wait(r.Moves)
	r.expect(t, false)
}

// beatAfterHalt: the very first beat after a halt closes it, whatever went before.
func beatAfterHalt(t *testing.T, r ContactorRig) {
	for _, before := range []int{0, 1, 2, 3} {
		r.hold(t, before)
		require.NoError(t, r.Contactor.Halt())
		r.Wait(r.Moves)
		r.hold(t, 1)
		r.expect(t, true)
	}
}

func weldIsSeen(t *testing.T, r ContactorRig) {
	r.hold(t, 3)
	r.Weld()
	require.NoError(t, r.Contactor.Halt())
	r.Wait(r.OneShot + r.Moves)
	r.expect(t, true)
}

func contactorGone(t *testing.T, r ContactorRig) {
	r.hold(t, 1)
	r.Gone()
	require.ErrorIs(t, r.Contactor.Beat(), hal.ErrGone)
	require.ErrorIs(t, r.Contactor.Halt(), hal.ErrGone)
	closed, err := r.Contactor.Closed(context.Background())
	require.ErrorIs(t, err, hal.ErrGone)
	require.True(t, closed, "what is not known counts as closed")
}

func mirrorCancelled(t *testing.T, r ContactorRig) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	closed, err := r.Contactor.Closed(ctx)
	require.ErrorIs(t, err, context.Canceled)
	require.True(t, closed)
}
