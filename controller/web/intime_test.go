package web

import (
	"errors"
	"net/http"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
	"anodized/controller/record"
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

// stalledShelf is a journal whose disk does not answer.
type stalledShelf struct {
	shelf
	comesBack chan struct{}
}

func (s stalledShelf) Runs(f journal.Filter) ([]journal.Summary, error) {
	<-s.comesBack
	return s.shelf.Runs(f)
}

func (s stalledShelf) Run(name string) (record.Run, error) {
	<-s.comesBack
	return s.shelf.Run(name)
}

// Whoever asks for runs while the disk stalls is told within 5 s, and the ninth at once; no
// more than eight reads wait for the disk, whatever is asked, and once it is back all is read.
func TestRunsOfADiskThatStallsAreToldInTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := stalledShelf{comesBack: make(chan struct{})}
		s := newStand(t, func(o *Options) { o.History = disk })
		paths := []string{"/api/runs", "/api/runs/1", "/api/runs/1/curve", "/api/runs/1/curve.csv", "/api/runs/1/curve.svg", "/api/runs/1/review", "/api/runs", "/api/runs/last"}
		for _, path := range paths {
			began := time.Now()
			answer := s.raw(http.MethodGet, path, "")
			assert.Equal(t, http.StatusServiceUnavailable, answer.Code, path)
			assert.Contains(t, answer.Body.String(), "look at the storage of this computer", path)
			assert.Equal(t, readWait, time.Since(began), path)
		}
		for _, path := range paths {
			began := time.Now()
			assert.Equal(t, http.StatusServiceUnavailable, s.raw(http.MethodGet, path, "").Code, path)
			assert.Zero(t, time.Since(began), path)
		}
		assert.Len(t, s.reading, mostReads)
		close(disk.comesBack)
		synctest.Wait()
		for _, path := range paths {
			assert.Equal(t, http.StatusOK, s.raw(http.MethodGet, path, "").Code, path)
		}
		assert.Empty(t, s.reading)
	})
}
