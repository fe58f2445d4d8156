package scpi

import (
	"context"
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/hal"
)

// shift is one call of a session and what happens to the first answer in it.
type shift struct {
	Call, Fault int
	Delay       time.Duration
}

// session is what the driver is put through.
type session struct {
	Compound, Redial bool
	Probe            string
	Shifts           []shift
}

var drawSession = rapid.Custom(func(t *rapid.T) session {
	return session{
		Compound: rapid.Bool().Draw(t, "compound"), Redial: rapid.Bool().Draw(t, "redial"),
		Probe: rapid.SampledFrom([]string{"ese", "idn"}).Draw(t, "probe"),
		Shifts: rapid.SliceOfN(rapid.Custom(func(t *rapid.T) shift {
			return shift{
				Call: rapid.IntRange(0, 3).Draw(t, "call"), Fault: rapid.IntRange(0, 5).Draw(t, "fault"),
				Delay: time.Duration(rapid.IntRange(0, 2000).Draw(t, "ms")) * time.Millisecond,
			}
		}), 1, 8).Draw(t, "shifts"),
	}
})

// TestShiftedSessions: answers come late, torn, cut or not at all, on a link that can be
// made anew or not, and no value is ever taken for another quantity's. When all that
// was late has come, the link is in step again.
func TestShiftedSessions(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := drawSession.Draw(r, "session")
		var err error
		synctest.Test(t, func(t *testing.T) { err = s.play(t.Context()) })
		require.NoError(r, err)
	})
}

func (s session) play(ctx context.Context) error {
	i := newInstrument()
	i.rest = [2]float64{0.07, 0.003}
	transport, err := i.dial(ctx)
	if err != nil {
		return err
	}
	defer i.hangUp()
	o := options(i, transport, plain())
	o.Dialect.Compound, o.Dialect.Probe = s.Compound, s.Probe
	if !s.Redial {
		o.Redial = nil
	}
	supply, err := Open(ctx, o)
	if err != nil {
		return err
	}
	for n, shift := range s.Shifts {
		i.do(func() { i.fault = shift.spoil(i) })
		if err := shift.call(ctx, supply); err != nil {
			return fmt.Errorf("call %d: %w", n, err)
		}
	}
	i.do(func() { i.fault = nil })
	<-time.After(20 * time.Second) // all that is late has come
	for range 2 {                  // the first may find what the last fault left behind
		_, err = supply.Measure(ctx)
	}
	return err
}

// call makes one call, and tells where it says what is not so.
func (s shift) call(ctx context.Context, supply *Supply) error {
	switch s.Call {
	case 0:
		if sample, err := supply.Measure(ctx); err == nil && (sample.Volts != 0.07 || sample.Amperes != 0.003 || sample.Mode != hal.ModeOff) {
			return fmt.Errorf("measured %+v", sample)
		}
	case 1:
		if volts, err := supply.SetVoltage(ctx, 33); err == nil && volts != 33 {
			return fmt.Errorf("33 V were set and %v held", volts)
		}
	case 2:
		if state, err := supply.Check(ctx); err == nil && (state.SetVolts != 0 && state.SetVolts != 33 || state.LimitAmperes != 0 || state.Output) {
			return fmt.Errorf("state %+v", state)
		}
	case 3:
		if on, err := supply.Energised(ctx); err == nil && on {
			return fmt.Errorf("on, it says")
		}
	}
	return nil
}

// spoil is what happens to the next answer.
func (s shift) spoil(i *instrument) func(*wire, string) {
	switch s.Fault {
	case 0:
		return nil
	case 1, 2: // late, and everything after it as well
		return func(w *wire, reply string) { i.later(w, s.Delay, reply+i.replyEnd) }
	case 3: // lost
		return func(*wire, string) {}
	case 4: // cut
		return func(w *wire, reply string) { i.raw(w, reply[:len(reply)/2]) }
	}
	return func(w *wire, reply string) { // torn in two
		i.raw(w, reply[:1])
		i.later(w, s.Delay, reply[1:]+i.replyEnd)
	}
}
