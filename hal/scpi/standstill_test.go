package scpi

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// sleeper is a transport whose reads are woken late once, as on a computer that stood
// still, and that has the answer by then.
type sleeper struct {
	Transport
	late time.Duration
}

func (s *sleeper) Read(p []byte) (int, error) {
	if late := s.late; late > 0 {
		s.late = 0
		<-time.After(late)
		return 0, os.ErrDeadlineExceeded
	}
	return s.Transport.Read(p)
}

// TestAComputerThatStoodStillReadsOn: the answer was not late. One that was cut short is.
func TestAComputerThatStoodStillReadsOn(t *testing.T) {
	for late, want := range map[time.Duration]error{time.Second: nil, 90 * time.Millisecond: hal.ErrTimeout} {
		t.Run(late.String(), in(func(t *testing.T) {
			s, err := connect(t, newInstrument(), plain())
			require.NoError(t, err)
			s.link.transport = &sleeper{s.link.transport, late}
			_, err = s.Measure(t.Context())
			require.ErrorIs(t, err, want)
		}))
	}
}
