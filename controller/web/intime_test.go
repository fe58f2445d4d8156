package web

import (
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What waits for a disk that stalls is given up in time, keeps its place, and a crowd of it
// is told at once; where the disk is back, so is the place.
func TestWaitingForADiskIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		places, comesBack := make(chan struct{}, 2), make(chan struct{})
		stalled := func() (int, error) { <-comesBack; return 1, nil }
		for range 2 {
			began := time.Now()
			_, err := inTime(places, planWait, stalled)
			require.ErrorIs(t, err, errNotInTime)
			assert.Equal(t, planWait, time.Since(began))
		}
		began := time.Now()
		_, err := inTime(places, planWait, stalled)
		require.ErrorContains(t, err, "to those who asked before")
		assert.Zero(t, time.Since(began))
		close(comesBack)
		synctest.Wait()
		got, err := inTime(places, planWait, stalled)
		require.NoError(t, err)
		assert.Equal(t, 1, got)
	})
}

// What fails or panics does so for its own request.
func TestWhatIsDoneInTimeFailsAsItWould(t *testing.T) {
	places, bad := make(chan struct{}, 1), errors.New("bad")
	_, err := inTime(places, time.Minute, func() (int, error) { return 0, bad })
	assert.ErrorIs(t, err, bad)
	assert.PanicsWithValue(t, "odd", func() { _, _ = inTime(places, time.Minute, func() (int, error) { panic("odd") }) })
}
