package scpi

import (
	"slices"
	"strings"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// energised is a supply that is on, at 5 V.
func energised(t *testing.T, change func(*Dialect)) (*Supply, *instrument) {
	t.Helper()
	i, d := newInstrument(), plain()
	change(&d)
	s, err := connect(t, i, d)
	require.NoError(t, err)
	driveOnce(t, s)
	_, err = s.SetVoltage(t.Context(), 5)
	require.NoError(t, err)
	require.NoError(t, s.Energise(t.Context()))
	return s, i
}

func asItIs(*Dialect) {}

// TestOffIsSaidOnTheConnectionThereIs: a supply that hears and says nothing is asked on
// the same connection until it is to be off; then off is the first that it hears, and
// the limits follow.
func TestOffIsSaidOnTheConnectionThereIs(t *testing.T) {
	for _, probe := range []string{"ese", "idn"} {
		t.Run(probe, in(func(t *testing.T) {
			s, i := energised(t, func(d *Dialect) { d.Probe = probe })
			was, far := i.current, i.far
			i.do(func() { i.silent = true })
			for range 3 {
				_, err := s.Measure(t.Context())
				require.ErrorIs(t, err, hal.ErrTimeout)
			}
			require.Same(t, was, i.current, "no new connection: who answers there would have to say first who it is")
			heard := len(i.heardOn(far))
			require.Error(t, s.Halt(t.Context()))
			synctest.Wait()
			require.Equal(t, []string{"OUTP OFF", "CURR 0", "VOLT 0"}, i.heardOn(far)[heard:heard+3])
			i.do(func() { require.False(t, i.on) })
		}))
	}
}

// TestReopeningEndsTheRun where it is the only way to find the step: off goes out on the
// old connection, and again once the same instrument has said who it is.
func TestReopeningEndsTheRun(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, i := energised(t, func(d *Dialect) { d.Probe = "reopen" })
		i.do(func() { i.fault = func(*wire, string) {} })
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrTimeout)
		was, heard := i.far, len(i.heardOn(i.far))
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrRelinked)
		synctest.Wait()
		require.NotSame(t, was, i.far)
		require.Equal(t, "OUTP OFF", i.heardOn(was)[heard])
		i.do(func() { require.False(t, i.on) })
	})
}

// TestSilentNewcomerHearsOneQuestion: nothing goes out blind to who has not said who it is.
func TestSilentNewcomerHearsOneQuestion(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, i := energised(t, asItIs)
		i.do(func() { i.silent = true })
		i.hangUp()
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		heard := len(i.lines())
		for range 2 {
			_, err = s.Measure(t.Context())
			require.Error(t, err)
			require.Error(t, s.Halt(t.Context()))
		}
		synctest.Wait()
		require.NotEmpty(t, i.lines()[heard:])
		for _, line := range i.lines()[heard:] {
			require.Equal(t, "*IDN?", line)
		}
	})
}

// TestBrokenLinkIsToldOnce: it is in step again and the output is off, but what ran has ended.
func TestBrokenLinkIsToldOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, i := energised(t, asItIs)
		i.hangUp()
		_, err := s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		_, err = s.SetVoltage(t.Context(), 6)
		require.ErrorIs(t, err, hal.ErrRelinked)
		i.do(func() { require.False(t, i.on) })
		_, err = s.Measure(t.Context())
		require.NoError(t, err)
		require.NotContains(t, i.lines(), "VOLT 6.000;*OPC?;:VOLT?", "nothing rises across a break")

		i.hangUp()
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		_, err = s.Measure(t.Context())
		require.NoError(t, err, "with the output off nothing was ended")
	})
}

// TestKnobIsNotOverwritten: a value that is not the one that was left is told.
func TestKnobIsNotOverwritten(t *testing.T) {
	for name, compound := range map[string]bool{"compound": true, "one query a line": false} {
		t.Run(name, in(func(t *testing.T) {
			s, i := energised(t, func(d *Dialect) { d.Compound = compound })
			_, err := s.SetVoltage(t.Context(), 5.1)
			require.NoError(t, err)
			i.do(func() { i.volts = 5.101 })
			_, err = s.SetVoltage(t.Context(), 5.2)
			require.ErrorIs(t, err, hal.ErrLocal)
			require.ErrorContains(t, err, "holds 5.101 V, and was left at 5.1 V")
			i.do(func() { require.InDelta(t, 5.101, i.volts, 0); i.amperes = 3 })
			_, err = s.SetCurrent(t.Context(), 1)
			require.ErrorIs(t, err, hal.ErrLocal)
			require.NoError(t, s.Halt(t.Context()))
			_, err = s.SetVoltage(t.Context(), 0)
			require.NoError(t, err, "with the output off the panel is anybody's")
		}))
	}
}

// TestRefusalWhileOnCarriesItsNumber although the error queue is not read with each setting.
func TestRefusalWhileOnCarriesItsNumber(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, i := energised(t, asItIs)
		i.do(func() { i.refuse = true })
		_, err := s.SetVoltage(t.Context(), 6)
		require.ErrorIs(t, err, hal.ErrRefused)
		require.ErrorContains(t, err, "-222 Data out of range")
		heard := len(i.lines())
		_, err = s.SetVoltage(t.Context(), 7)
		require.NoError(t, err)
		require.False(t, slices.ContainsFunc(i.lines()[heard:], func(line string) bool { return line == "SYST:ERR?" }))
	})
}

// TestKnobBetweenSettingAndReadBackIsTold and not written over; what is still the old value
// was not taken, which is another thing.
func TestKnobBetweenSettingAndReadBackIsTold(t *testing.T) {
	for held, want := range map[float64]error{12: hal.ErrStray, 4.9: hal.ErrStray, 5: hal.ErrMismatch, 5.05: hal.ErrMismatch} { // the last is a clamp
		synctest.Test(t, func(t *testing.T) {
			s, i := energised(t, func(d *Dialect) { d.Compound = false })
			_, err := s.SetVoltage(t.Context(), 5)
			require.NoError(t, err)
			i.do(func() {
				i.afterward = func(line string) {
					if strings.HasPrefix(line, "VOLT 5.1") {
						i.volts = held
					}
				}
			})
			_, err = s.SetVoltage(t.Context(), 5.1)
			require.ErrorIs(t, err, want)
			i.do(func() { require.InDelta(t, held, i.volts, 0) })
		})
	}
}
