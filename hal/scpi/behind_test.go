package scpi

import (
	"context"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// numbers is how many new numbers were asked for.
func (i *instrument) numbers() (n int) {
	for _, line := range i.lines() {
		if strings.HasPrefix(line, "*ESE") {
			n++
		}
	}
	return n
}

// TestInstrumentThatIsBehindIsAskedNothingNew: each question that it has not answered yet
// stands before the off that it will hear.
func TestInstrumentThatIsBehindIsAskedNothingNew(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, i := energised(t, asItIs)
		timeout := s.dialect.Timeout
		i.do(func() { i.delay = 2 * timeout })
		before, began := i.numbers(), time.Now()
		for time.Since(began) < 3*timeout { // as its owner does, who cuts it off now and then
			ctx, cancel := context.WithTimeout(t.Context(), min(timeout+timeout/6, 3*timeout-time.Since(began)))
			_, err := s.Measure(ctx)
			cancel()
			require.ErrorIs(t, err, hal.ErrTimeout)
		}
		require.Equal(t, 1, i.numbers()-before)
		heard := len(i.lines())
		require.Error(t, s.Halt(t.Context()))
		synctest.Wait()
		require.Equal(t, "OUTP OFF", i.lines()[heard])
	})
}

// TestInstrumentThatWasBehindIsBelievedAgain as soon as the number comes.
func TestInstrumentThatWasBehindIsBelievedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, i := energised(t, asItIs)
		timeout := s.dialect.Timeout
		i.do(func() { i.fault = func(w *wire, reply string) { i.later(w, 3*timeout/2, reply+i.replyEnd) } })
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrTimeout)
		sample, err := s.Measure(t.Context())
		require.NoError(t, err)
		require.InDelta(t, 5, float64(sample.Volts), 1e-9)
	})
}
