package scpi

import (
	"context"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// optional are the headers that a supply may lack.
var optional = []string{"*OPC?", "*ESR?", "SYST:ERR?", "STAT:QUES:COND?", "VOLT:PROT:LEV?", "VOLT:PROT:TRIP?", "OUTP:PROT:TRIP?"}

func lacking(i *instrument, headers ...string) {
	for _, header := range headers {
		i.lacks[header] = true
	}
}

// in runs a test on the simulated clock.
func in(test func(t *testing.T)) func(*testing.T) {
	return func(t *testing.T) { synctest.Test(t, test) }
}

// TestOpensWithoutOptions: an instrument with the least that is required is driven,
// whether it goes on after an unknown header or drops the rest of the line.
func TestOpensWithoutOptions(t *testing.T) {
	for name, arrange := range map[string]func(*instrument){
		"goes on after an unknown header": func(*instrument) {},
		"drops the rest of the line":      func(i *instrument) { i.aborts = true },
		"without *ESE?":                   func(i *instrument) { lacking(i, "*ESE?", "*ESE") },
		"answers on lines of their own":   func(i *instrument) { i.separate = true },
		"slow":                            func(i *instrument) { i.delay = 200 * time.Millisecond },
	} {
		t.Run(name, in(func(t *testing.T) {
			i := newInstrument()
			i.on, i.queue = true, []string{`-100,"Command error"`}
			lacking(i, optional...)
			arrange(i)
			s, err := connect(t, i, plain())
			require.NoError(t, err)
			require.Equal(t, "OUTP OFF", i.lines()[0])
			driveOnce(t, s)
			_, protects := s.WithAbilities().(hal.Protector)
			require.False(t, protects)
		}))
	}
}

func driveOnce(t *testing.T, s *Supply) {
	t.Helper()
	volts, err := s.SetVoltage(t.Context(), 12.3456)
	require.NoError(t, err)
	require.InDelta(t, 12.345, float64(volts), 1e-9)
	_, err = s.SetCurrent(t.Context(), 0.5)
	require.NoError(t, err)
	require.NoError(t, s.Energise(t.Context()))
	sample, err := s.Measure(t.Context())
	require.NoError(t, err)
	require.InDelta(t, 12.345, float64(sample.Volts), 1e-9)
	state, err := s.Check(t.Context())
	require.NoError(t, err)
	require.True(t, state.Output)
	require.Empty(t, state.Errors)
	require.NoError(t, s.Halt(t.Context()))
}

// TestEachOptionAlone: whatever single option is missing, the others are used.
func TestEachOptionAlone(t *testing.T) {
	for _, header := range optional {
		for _, aborts := range []bool{false, true} {
			t.Run(header, in(func(t *testing.T) {
				i := newInstrument()
				i.aborts = aborts
				lacking(i, header)
				s, err := connect(t, i, plain())
				require.NoError(t, err)
				driveOnce(t, s)
				opening := len(i.lines())
				driveOnce(t, s)
				for _, line := range i.lines()[opening:] {
					require.NotContains(t, strings.ReplaceAll(line, ";", ";:"), ":"+header, "it is not asked again")
				}
			}))
		}
	}
}

// TestRequiredQueries: without these there is no driving, and the error says which.
func TestRequiredQueries(t *testing.T) {
	for _, header := range []string{"OUTP?", "VOLT?", "CURR?", "MEAS:VOLT?", "MEAS:CURR?", "*IDN?"} {
		t.Run(header, in(func(t *testing.T) {
			i := newInstrument()
			i.on = true
			lacking(i, header)
			_, err := connect(t, i, plain())
			require.ErrorContains(t, err, header)
			i.do(func() { require.False(t, i.on) })
		}))
	}
}

func TestOpenRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		arrange func(*instrument, *Dialect)
		want    error
		words   string
	}{
		"an output that does not go off": {func(i *instrument, _ *Dialect) { i.on, i.stuck = true, true }, hal.ErrMismatch, "still on"},
		"silence":                        {func(i *instrument, _ *Dialect) { i.silent = true }, hal.ErrTimeout, "look at its address"},
		"no status key":                  {func(_ *instrument, d *Dialect) { d.Status = "" }, nil, "dialect key status"},
		"no mains_return key":            {func(_ *instrument, d *Dialect) { d.MainsReturn = "" }, nil, "dialect key mains_return"},
		"a bare trip header":             {func(_ *instrument, d *Dialect) { d.OVP = "VOLT:PROT" }, nil, "dialect key ovp"},
		"too many decimals":              {func(_ *instrument, d *Dialect) { d.DecimalsV = 7 }, nil, "decimals_v is 7"},
		"another terminator":             {func(i *instrument, d *Dialect) { d.ReplyEnd = "crlf" }, hal.ErrTimeout, "reply_end"},
		"an echo that was not announced": {func(i *instrument, _ *Dialect) { i.echo = true }, nil, "the supply"},
		"an echo that does not come":     {func(_ *instrument, d *Dialect) { d.Echo = true }, nil, "echo"},
		"an ack that does not come":      {func(_ *instrument, d *Dialect) { d.Ack, d.Enter = "OK", []string{"SYST:REM"} }, nil, "acknowledgement"},
		"a queue that never empties": {func(i *instrument, _ *Dialect) {
			i.afterward = func(string) { i.queue = []string{`-310,"System error"`} }
		}, hal.ErrRefused, "is not empty"},
	} {
		t.Run(name, in(func(t *testing.T) {
			i, d := newInstrument(), plain()
			c.arrange(i, &d)
			_, err := connect(t, i, d)
			require.ErrorContains(t, err, c.words)
			if c.want != nil {
				require.ErrorIs(t, err, c.want)
			}
		}))
	}
}

// TestExpectedIdentity: where the bench knows its instrument, another is refused.
func TestExpectedIdentity(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := newInstrument()
		transport, err := i.dial(t.Context())
		require.NoError(t, err)
		t.Cleanup(i.hangUp)
		o := options(i, transport, plain())
		o.Expect = &hal.Identity{Maker: "BENCH WORKS", Model: "PS-1 SIMULATED", Serial: "0043", Firmware: "1.0"}
		_, err = Open(t.Context(), o)
		require.ErrorIs(t, err, hal.ErrGone)
		require.ErrorContains(t, err, "0042")
	})
}

func TestEnterAndLeave(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i, d := newInstrument(), plain()
		d.Enter, d.Leave = []string{"SYST:REM"}, []string{"SYST:LOC"}
		s, err := connect(t, i, d)
		require.NoError(t, err)
		require.Equal(t, []string{"OUTP OFF", "SYST:REM"}, i.lines()[:2])
		require.NoError(t, s.Release(t.Context()))
		synctest.Wait()
		require.Equal(t, "SYST:LOC", i.lines()[len(i.lines())-1])
	})
}

func TestOvervoltage(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := newInstrument()
		s, err := connect(t, i, plain())
		require.NoError(t, err)
		protector, ok := s.WithAbilities().(hal.Protector)
		require.True(t, ok)
		held, err := protector.SetOvervoltage(t.Context(), 77)
		require.NoError(t, err)
		require.InDelta(t, 77, float64(held), 0)
		_, err = protector.SetOvervoltage(t.Context(), 145)
		require.ErrorIs(t, err, hal.ErrRange)
		i.do(func() { i.clampAt = 60 })
		_, err = protector.SetOvervoltage(t.Context(), 77)
		require.ErrorIs(t, err, hal.ErrMismatch)
		require.True(t, slices.Contains(i.lines(), "VOLT:PROT:LEV 77.000;*OPC?;:VOLT:PROT:LEV?;:SYST:ERR?"))
	})
}

// TestOneGoroutineOwnsIt: a second call while one is under way is refused at once.
func TestOneGoroutineOwnsIt(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		i := newInstrument()
		s, err := connect(t, i, plain())
		require.NoError(t, err)
		i.do(func() { i.silent = true })
		ended := make(chan error)
		go func() { _, err := s.Measure(context.Background()); ended <- err }()
		synctest.Wait()
		began := time.Now()
		_, err = s.Measure(t.Context())
		require.ErrorIs(t, err, errBusy)
		require.ErrorIs(t, s.Halt(t.Context()), errBusy)
		require.Equal(t, began, time.Now())
		require.ErrorIs(t, <-ended, hal.ErrTimeout)
	})
}
