package haltest

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// InterlockRig is an interlock and the hands on its lid. A nil hand is one that the
// rig does not have.
type InterlockRig struct {
	Interlock hal.Interlock
	Contacts  func(first, second bool) // true: closed
	Wait      func(d time.Duration)
	Hands     map[Fault]func()
}

// InterlockSuite says how to build rigs.
type InterlockSuite struct {
	Run  func(t *testing.T, test func(t *testing.T)) // nil: as it is
	Open func(t *testing.T) InterlockRig             // must clean up through t
	Tell func(test, outcome string)                  // may be nil
}

func lidWith(fault Fault) func(InterlockRig) bool {
	return func(r InterlockRig) bool { return r.Hands[fault] != nil }
}

var interlockTests = []contractTest[InterlockRig]{
	{"EachChannelIsItsOwn", nil, eachChannelIsItsOwn},
	{"OpenAtOnce", nil, openAtOnce},
	{"InterlockTimeMovesForward", nil, interlockTimeMovesForward},
	{"SilenceIsError", lidWith(Silence), func(t *testing.T, r InterlockRig) { unreadable(t, r, Silence, hal.ErrTimeout) }},
	{"GoneIsError", lidWith(Gone), func(t *testing.T, r InterlockRig) { unreadable(t, r, Gone, hal.ErrGone) }},
	{"RefusalIsError", lidWith(Refuse), func(t *testing.T, r InterlockRig) { unreadable(t, r, Refuse, hal.ErrRefused) }},
	{"GarbageIsError", lidWith(GarbageReply), func(t *testing.T, r InterlockRig) { unreadable(t, r, GarbageReply, nil) }},
	{"LateReplyIsNeverUsed", lidWith(LateReply), lateReplyIsNeverUsed},
	{"RecoversFromALostReply", lidWith(LostReply), recoversFromALostReply},
	{"CancelledIsError", nil, cancelledIsError},
}

// Interlock holds an interlock against its contract.
func Interlock(t *testing.T, suite InterlockSuite) {
	each(t, suite.Run, suite.Tell, suite.Open, interlockTests)
}

func eachChannelIsItsOwn(t *testing.T, r InterlockRig) {
	for _, want := range [][2]bool{{true, true}, {false, true}, {true, false}, {false, false}, {true, true}} {
		r.Contacts(want[0], want[1])
		channels, err := r.Interlock.Channels(context.Background())
		require.NoError(t, err)
		require.Equal(t, want, channels.Closed)
	}
}

func openAtOnce(t *testing.T, r InterlockRig) {
	for range 20 {
		r.Contacts(true, true)
		channels, err := r.Interlock.Channels(context.Background())
		require.NoError(t, err)
		require.Equal(t, [2]bool{true, true}, channels.Closed)
		r.Contacts(false, false)
		channels, err = r.Interlock.Channels(context.Background())
		require.NoError(t, err)
		require.Equal(t, [2]bool{}, channels.Closed, "the first reading after the opening shows it")
	}
}

func interlockTimeMovesForward(t *testing.T, r InterlockRig) {
	var last time.Time
	for range 5 {
		channels, err := r.Interlock.Channels(context.Background())
		require.NoError(t, err)
		require.False(t, channels.At.IsZero())
		require.False(t, channels.At.Before(last))
		last = channels.At
		if r.Wait != nil {
			r.Wait(100 * time.Millisecond)
		}
	}
}

// unreadable: a lid that cannot be read is an error and open on both channels.
func unreadable(t *testing.T, r InterlockRig, fault Fault, want error) {
	r.Contacts(true, true)
	_, err := r.Interlock.Channels(context.Background())
	require.NoError(t, err)
	r.Hands[fault]()
	channels, err := r.Interlock.Channels(context.Background())
	require.Error(t, err)
	if want != nil {
		require.ErrorIs(t, err, want)
	}
	require.Equal(t, [2]bool{}, channels.Closed)
}

// lateReplyIsNeverUsed: the late answer says closed, and the lid is open since.
func lateReplyIsNeverUsed(t *testing.T, r InterlockRig) {
	r.Contacts(true, true)
	_, err := r.Interlock.Channels(context.Background())
	require.NoError(t, err)
	r.Hands[LateReply]()
	_, err = r.Interlock.Channels(context.Background())
	require.ErrorIs(t, err, hal.ErrTimeout)
	r.Contacts(false, false)
	for range 10 {
		if r.Wait != nil {
			r.Wait(50 * time.Millisecond)
		}
		channels, err := r.Interlock.Channels(context.Background())
		require.NoError(t, err)
		require.Equal(t, [2]bool{}, channels.Closed)
	}
}

func recoversFromALostReply(t *testing.T, r InterlockRig) {
	r.Contacts(true, true)
	r.Hands[LostReply]()
	_, err := r.Interlock.Channels(context.Background())
	require.ErrorIs(t, err, hal.ErrTimeout)
	channels, err := r.Interlock.Channels(context.Background())
	require.NoError(t, err)
	require.Equal(t, [2]bool{true, true}, channels.Closed)
}

func cancelledIsError(t *testing.T, r InterlockRig) {
	r.Contacts(true, true)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	channels, err := r.Interlock.Channels(ctx)
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, [2]bool{}, channels.Closed)
	channels, err = r.Interlock.Channels(context.Background())
	require.NoError(t, err)
	require.Equal(t, [2]bool{true, true}, channels.Closed)
}
