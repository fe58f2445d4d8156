package haltest

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// StopRig is an emergency stop and the hands on it. Contacts lets the rig's own time
// pass until closed contacts count; a stop with one contact takes the first.
type StopRig struct {
	Stop     hal.EmergencyStop
	Two      bool                     // it has two contacts
	Contacts func(first, second bool) // true: closed, not pressed
	Hands    map[Fault]func()         // Gone, Silence
}

// StopSuite says how to build rigs.
type StopSuite struct {
	Run  func(t *testing.T, test func(t *testing.T))
	Open func(t *testing.T) StopRig
	Tell func(test, outcome string) // may be nil
}

// EmergencyStop holds an emergency stop against its contract.
func EmergencyStop(t *testing.T, suite StopSuite) {
	each(t, suite.Run, suite.Tell, suite.Open, []contractTest[StopRig]{
		{"EachContactOfTheStopIsItsOwn", nil, stopContacts},
		{"StopIsPressedAtOnce", nil, stopAtOnce},
		{"UnreadableStopIsPressed", func(r StopRig) bool { return len(r.Hands) > 0 }, stopUnreadable},
		{"CancelledStopIsPressed", nil, stopCancelled},
	})
}

func (r StopRig) expect(t *testing.T, want [2]bool) {
	contacts, err := r.Stop.Contacts(context.Background())
	require.NoError(t, err)
	require.Equal(t, want, contacts.Closed)
	require.False(t, contacts.At.IsZero())
}

func stopContacts(t *testing.T, r StopRig) {
	for _, set := range [][2]bool{{true, true}, {false, true}, {true, false}, {false, false}, {true, true}} {
		r.Contacts(set[0], set[1])
		if !r.Two {
			set[1] = set[0]
		}
		r.expect(t, set)
	}
}

func stopAtOnce(t *testing.T, r StopRig) {
	for range 20 {
		r.Contacts(true, true)
		r.expect(t, [2]bool{true, true})
		r.Contacts(false, false)
		r.expect(t, [2]bool{})
	}
}

func stopUnreadable(t *testing.T, r StopRig) {
	for fault, hand := range r.Hands {
		r.Contacts(true, true)
		hand()
		contacts, err := r.Stop.Contacts(context.Background())
		require.Error(t, err, fault)
		require.Equal(t, [2]bool{}, contacts.Closed, fault)
		return // one a rig: what is gone stays gone
	}
}

func stopCancelled(t *testing.T, r StopRig) {
	r.Contacts(true, true)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	contacts, err := r.Stop.Contacts(ctx)
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, [2]bool{}, contacts.Closed)
}
