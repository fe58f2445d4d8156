package controller

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
)

// TestShortExchangeBehindALongOneKeepsItsOwnBound: the timer may still be set for what
// four exchanges in a row were allowed.
func TestShortExchangeBehindALongOneKeepsItsOwnBound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		e := newExchange(300 * time.Millisecond)
		e.begin(4)
		<-time.After(350 * time.Millisecond)
		e.end()
		began := time.Now()
		<-e.begin(1).Done()
		assert.Equal(t, 300*time.Millisecond, time.Since(began))
	})
}
