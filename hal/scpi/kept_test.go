package scpi

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// TestOffMayStillBeOnItsWay: the connection is left a while after off was said on it, since
// what an instrument has not read of one that is given up may be lost.
func TestOffMayStillBeOnItsWay(t *testing.T) {
	for _, probe := range []string{"ese", "idn"} {
		t.Run(probe, in(func(t *testing.T) {
			s, i := energised(t, func(d *Dialect) { d.Probe = probe })
			was := i.current
			i.do(func() { i.silent = true })
			_, err := s.Measure(t.Context())
			require.ErrorIs(t, err, hal.ErrTimeout)
			require.Error(t, s.Halt(t.Context()))
			require.Error(t, s.Halt(t.Context()))
			synctest.Wait()
			require.Same(t, was, i.current)
			<-time.After(lastWord)
			require.Error(t, s.Halt(t.Context()))
			require.NotSame(t, was, i.current, "it may answer on another one")
		}))
	}
}

// TestASpoiltNameMakesNoStranger: no check sum is on it, and a stranger hears no off. Who
// says it twice is one.
func TestASpoiltNameMakesNoStranger(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, i := energised(t, func(d *Dialect) { d.Probe = "idn" })
		i.do(func() {
			i.fault = func(w *wire, _ string) {
				i.fault = func(w *wire, reply string) { i.send(w, strings.Replace(reply, "0042", "0046", 1)) }
				i.send(w, "nonsense\n")
			}
		})
		_, err := s.Measure(t.Context())
		require.Error(t, err)
		_, err = s.Measure(t.Context())
		require.NoError(t, err)
		i.do(func() {
			i.identity = "OTHER WORKS,PS-2 SIMULATED,0001,1.0"
			i.fault = func(w *wire, _ string) { i.send(w, "nonsense\n") }
		})
		_, err = s.Measure(t.Context())
		require.Error(t, err)
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		require.ErrorContains(t, err, "another instrument answers in its place")
	})
}
