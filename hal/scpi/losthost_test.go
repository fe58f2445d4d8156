package scpi

import (
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// timed is a dialect with a lost-host timer; the headers are this instrument's own.
func timed(d *Dialect) {
	d.LostHostSwitch, d.LostHostDelay = "SAFE:TIM:STAT", "SAFE:TIM:DEL"
}

func TestLostHostTimerIsArmedAndReadBack(t *testing.T) {
	for name, change := range map[string]func(*instrument, *Dialect){
		"compound":         func(*instrument, *Dialect) {},
		"one query a line": func(_ *instrument, d *Dialect) { d.Compound = false },
		"no queue":         func(i *instrument, d *Dialect) { i.lacks["SYST:ERR?"] = true; d.Errors = "esr" },
		"ack":              func(i *instrument, d *Dialect) { i.ack, d.Ack = "OK", "OK" },
		"no trip level":    func(_ *instrument, d *Dialect) { d.OVP = "none" },
	} {
		t.Run(name, in(func(t *testing.T) {
			i, d := newInstrument(), plain()
			timed(&d)
			d.LostHostAfter = 2 * time.Second
			change(i, &d)
			s, err := connect(t, i, d)
			require.NoError(t, err)
			require.Zero(t, i.timer, "opening arms nothing")
			supply := s.WithAbilities()
			_, protected := supply.(hal.Protector)
			require.Equal(t, d.OVP != "none", protected)
			timer, ok := supply.(hal.LostHostTimer)
			require.True(t, ok)

			after, err := timer.ArmLostHost(t.Context())
			require.NoError(t, err)
			require.Equal(t, 2*time.Second, after)
			require.Equal(t, timerHeld{true, 2}, i.timer)

			_, err = s.SetVoltage(t.Context(), 5)
			require.NoError(t, err)
			_, err = s.SetCurrent(t.Context(), 0.1)
			require.NoError(t, err)
			require.NoError(t, s.Energise(t.Context()))
			heard := len(i.lines())
			require.ErrorIs(t, timer.DisarmLostHost(t.Context()), hal.ErrRefused)
			require.Len(t, i.lines(), heard, "nothing is sent while the output may be on")
			require.True(t, i.timer.armed)

			require.NoError(t, s.Halt(t.Context()))
			require.NoError(t, timer.DisarmLostHost(t.Context()))
			require.Equal(t, timerHeld{false, 2}, i.timer)
		}))
	}
}

func TestShortestLostHostTimerWhereNoneIsGiven(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i, d := newInstrument(), plain()
		timed(&d)
		s, err := connect(t, i, d)
		require.NoError(t, err)
		after, err := s.WithAbilities().(hal.LostHostTimer).ArmLostHost(t.Context())
		require.NoError(t, err)
		require.Equal(t, time.Second, after)
		require.True(t, slices.Contains(i.lines(), "SAFE:TIM:DEL 1;*OPC?;:SAFE:TIM:DEL?;:SYST:ERR?"))
		require.True(t, slices.Contains(i.lines(), "SAFE:TIM:STAT ON;*OPC?;:SAFE:TIM:STAT?;:SYST:ERR?"))
	})
}

// TestLostHostTimerThatIsNotConfirmed: nobody believes in a timer that the supply does not
// say it holds.
func TestLostHostTimerThatIsNotConfirmed(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*instrument)
		err   error
		says  string
	}{
		"rounds the delay":     {func(i *instrument) { i.timerStep = 5 }, hal.ErrMismatch, "the supply holds 5 s"},
		"stays off":            {func(i *instrument) { i.timerDead = true }, hal.ErrMismatch, "the supply says false"},
		"refuses the delay":    {func(i *instrument) { i.refuse = true }, hal.ErrRefused, "-222"},
		"knows no such switch": {func(i *instrument) { i.lacks["SAFE:TIM:STAT?"] = true }, hal.ErrRefused, "does not answer SAFE:TIM:STAT?; correct the dialect keys lost_host_switch and lost_host_delay"},
		"knows no such delay":  {func(i *instrument) { i.lacks["SAFE:TIM:DEL?"] = true }, hal.ErrRefused, "does not answer SAFE:TIM:DEL?"},
	} {
		t.Run(name, in(func(t *testing.T) {
			i, d := newInstrument(), plain()
			timed(&d)
			c.spoil(i)
			s, err := connect(t, i, d)
			require.NoError(t, err, "a bench can be looked at without it")
			i.do(func() { c.spoil(i) }) // a refusal was spent on the opening
			_, err = s.WithAbilities().(hal.LostHostTimer).ArmLostHost(t.Context())
			require.ErrorIs(t, err, c.err)
			require.ErrorContains(t, err, c.says)
			require.ErrorContains(t, err, "arm the lost-host timer")
			_, err = s.Measure(t.Context())
			require.NoError(t, err, "the link is as good as before")
		}))
	}
}

func TestOpenRefusesHalfALostHostTimer(t *testing.T) {
	for says, change := range map[string]func(*Dialect){
		"both headers are needed":        func(d *Dialect) { d.LostHostSwitch = "A:B" },
		"or neither":                     func(d *Dialect) { d.LostHostDelay = "A:B" },
		"it needs lost_host_switch":      func(d *Dialect) { d.LostHostAfter = time.Second },
		"is 999ms: it must be 1s to 3s":  func(d *Dialect) { timed(d); d.LostHostAfter = 999 * time.Millisecond },
		"is 3.001s: it must be 1s to 3s": func(d *Dialect) { timed(d); d.LostHostAfter = 3001 * time.Millisecond },
		"is -1s: it must be 1s to 3s":    func(d *Dialect) { timed(d); d.LostHostAfter = -time.Second },
	} {
		d := plain()
		change(&d)
		_, err := connect(t, newInstrument(), d)
		require.ErrorContains(t, err, says)
	}
}

func TestASupplyWithoutALostHostTimerHasNoSuchAbility(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := newInstrument()
		s, err := connect(t, i, plain())
		require.NoError(t, err)
		_, can := s.WithAbilities().(hal.LostHostTimer)
		require.False(t, can)
		require.False(t, slices.ContainsFunc(i.lines(), func(line string) bool { return line == "SAFE:TIM:STAT?" }))
	})
}
