package scpiserver

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// exchange is a line and its answer.
type exchange struct{ line, answer string }

func play(t *testing.T, i *Instrument, exchanges []exchange) {
	t.Helper()
	for _, e := range exchanges {
		require.Equal(t, e.answer, i.Execute(e.line), e.line)
	}
}

func quiet(depth int) (*Instrument, *shelf) {
	source := newShelf()
	i := New(source, Questionable, depth)
	i.Execute("*CLS")
	return i, source
}

// As in the tests of an independent open parser of SCPI-99 (j123b567/scpi-parser).
func TestStatusByteFollowsAnUnknownHeader(t *testing.T) {
	i, _ := quiet(0)
	play(t, i, []exchange{
		{"*ESE #H20", ""}, {"*SRE #HFF", ""}, {"ABCD", ""}, {"*STB?", "100"}, {"*ESR?", "32"}, {"*STB?", "68"},
		{"SYST:ERR?", `-113,"Undefined header"`}, {"SYST:ERR?", `0,"No error"`}, {"*STB?", "0"},
	})
}

func TestFullQueueEndsInOverflow(t *testing.T) {
	i, _ := quiet(4)
	for range 5 {
		i.Execute("ABCD")
	}
	play(t, i, []exchange{
		{"SYST:ERR:COUN?", "4"}, {"SYST:ERR?", `-113,"Undefined header"`}, {"SYST:ERR?", `-113,"Undefined header"`},
		{"SYST:ERR?", `-113,"Undefined header"`}, {"SYST:ERR?", `-350,"Queue overflow"`}, {"SYST:ERR?", `0,"No error"`},
	})
}

func TestCompoundLines(t *testing.T) {
	i, source := quiet(0)
	source.volts, source.amperes = 12.345, 0.12345
	identity := source.Identity()
	play(t, i, []exchange{
		{"*IDN?;*OPC;*IDN?", identity + ";" + identity},
		{"*ESE 147;*ESE?", "147"},
		{"SYST:VERS?;ERR?", `1999.0;0,"No error"`},
		{"ABCD;:SYST:ERR?", `-113,"Undefined header"`},
		{"MEAS:VOLT?;:MEAS:CURR?", "+1.234500E+01;+1.234500E-01"},
		{"MEAS:VOLT?;CURR?", "+1.234500E+01;+1.234500E-01"},
		{"VOLT 12.345;*OPC?;CURR 0.5;*OPC?", "1;1"},
		{":VOLT?;:CURR?;", "+1.234500E+01;+5.000000E-01"},
		{"SOUR:VOLT:LEV 5;IMM?;:OUTP?", "+5.000000E+00;0"},
		{";;", ""},
		{"SYST:ERR:ALL?", `0,"No error"`},
	})
}

func TestBothFormsAndOptionalNodes(t *testing.T) {
	i, _ := quiet(0)
	for _, header := range []string{
		"VOLT", "VOLTage", "voltage:level", "SOURce:VOLTage:LEVel:IMMediate:AMPLitude", "sour:volt:ampl", ":VOLT:IMM",
		"SOUR:VOLTAGE:LEV:AMPL",
	} {
		require.Equal(t, "+7.000000E+00", i.Execute(header+" 7;"+":"+strings.TrimPrefix(header, ":")+"?"), header)
	}
	for _, header := range []string{"VOLTA", "VOL", "VOLT:AMPL:LEV", "VOLT:", "SOUR", "VOLT:LEV:LEV", "OUTP:STA"} {
		i.Execute(header + "?")
		require.Equal(t, `-113,"Undefined header"`, i.Execute("SYST:ERR?"), header)
	}
}

func TestParameters(t *testing.T) {
	i, source := quiet(0)
	for _, c := range []struct {
		line  string
		fault string
		volts float64
	}{
		{"VOLT 1.15", `0,"No error"`, 1.15},
		{"VOLT 1.2E1", `0,"No error"`, 12},
		{"VOLT 500 mV", `0,"No error"`, 0.5},
		{"VOLT .5KV", `-222,"Data out of range"`, 0.5},
		{"VOLT MAX", `0,"No error"`, 120},
		{"VOLT MINimum", `0,"No error"`, 0},
		{"VOLT 120.001", `-222,"Data out of range"`, 0},
		{"VOLT -1", `-222,"Data out of range"`, 0},
		{"VOLT", `-109,"Missing parameter"`, 0},
		{"VOLT 1,2", `-108,"Parameter not allowed"`, 0},
		{"VOLT 5 A", `-131,"Invalid suffix"`, 0},
		{"VOLT inf", `-104,"Data type error"`, 0},
		{"VOLT NaN", `-104,"Data type error"`, 0},
		{"VOLT 0x1p4", `-131,"Invalid suffix"`, 0},
		{"VOLT 1_0", `-131,"Invalid suffix"`, 0},
		{"VOLT 1E999", `-120,"Numeric data error"`, 0},
		{"VOLT 1,", `-102,"Syntax error"`, 0},
		{"VO%T 1", `-101,"Invalid character"`, 0},
		{"?", `-102,"Syntax error"`, 0},
		{"VOLT? 3", `-108,"Parameter not allowed"`, 0},
		{"*OPC 1", `-108,"Parameter not allowed"`, 0},
		{"OUTP perhaps", `-104,"Data type error"`, 0},
		{"SYST:COMM:RLST MAYBE", `-224,"Illegal parameter value"`, 0},
		{"VOLT:PROT:STAT OFF", `-221,"Settings conflict"`, 0},
		{"*ESE 256", `-222,"Data out of range"`, 0},
		{"*ESE #H1G", `-120,"Numeric data error"`, 0},
		{"MEAS:VOLT 3", `-113,"Undefined header"`, 0},
		{"*RST?", `-113,"Undefined header"`, 0},
	} {
		require.Empty(t, i.Execute(c.line), c.line)
		require.Equal(t, c.fault, i.Execute("SYST:ERR?"), c.line)
		assert.InDelta(t, c.volts, source.s.Volts, 1e-12, c.line)
	}
}

func TestLimitsAreTold(t *testing.T) {
	i, source := quiet(0)
	play(t, i, []exchange{
		{"VOLT? MAX", "+1.200000E+02"}, {"VOLT? MIN", "+0.000000E+00"}, {"CURR? MAXimum", "+5.000000E+00"},
		{"VOLT:PROT:LEV 125;LEV?", "+1.250000E+02"}, {"VOLT:PROT?", "+1.250000E+02"}, {"VOLT:SLEW 2;SLEW?", "+2.000000E+00"},
		{"CURR:PROT 2;PROT:STAT ON;STAT?", "1"}, {"OUTP:PROT:DEL 0.5;DEL?", "+5.000000E-01"},
		{"OUTP:PROT:WDOG:DEL 3;:OUTP:PROT:WDOG ON;WDOG?", "1"}, {"OUTP:PROT:WDOG:DEL?", "3"},
	})
	require.True(t, source.s.OvercurrentArmed)
	require.Equal(t, 3.0, source.s.LostHostSeconds)
}

func TestResetLeavesErrorsAndEvents(t *testing.T) {
	i, source := quiet(0)
	play(t, i, []exchange{
		{"VOLT 5;:OUTP ON;:ABCD", ""}, {"OUTP?", "1"}, {"*RST", ""}, {"OUTP?;:VOLT?", "0;+0.000000E+00"},
		{"*ESR?", "32"}, {"SYST:ERR?", `-113,"Undefined header"`},
	})
	require.Positive(t, source.heard)
}

func TestPowerOnIsSeenOnce(t *testing.T) {
	source := newShelf()
	i := New(source, Questionable, 0)
	play(t, i, []exchange{{"*ESR?", "128"}, {"*ESR?", "0"}, {"*ESE 5", ""}})
	source.started = true
	play(t, i, []exchange{{"*ESE?", "0"}, {"*ESR?", "128"}, {"*ESR?", "0"}})
}

func TestNoReadingIsNotANumber(t *testing.T) {
	i, source := quiet(0)
	source.volts = notANumber()
	require.Equal(t, "+9.910000E+37", i.Execute("MEAS:VOLT?"))
}

func TestOwnErrorsAreQueued(t *testing.T) {
	i, source := quiet(0)
	source.own = []int{-310, 17}
	play(t, i, []exchange{{"SYST:ERR?", `-310,"System error"`}, {"SYST:ERR?", `17,"Device-specific error"`}, {"*ESR?", "8"}})
}

func TestRegulationInEveryLayout(t *testing.T) {
	voltage, current := Condition{On: true}, Condition{On: true, Limited: true}
	unregulated, tripped := Condition{On: true, Unregulated: true}, Condition{Overvoltage: true}
	for _, c := range []struct {
		layout    Layout
		condition Condition
		quest, op string
	}{
		{Questionable, Condition{}, "0", "0"}, {Questionable, voltage, "2", "0"}, {Questionable, current, "1", "0"},
		{Questionable, unregulated, "3", "0"}, {Questionable, tripped, "512", "0"},
		{Operation, voltage, "0", "256"}, {Operation, current, "0", "1024"}, {Operation, unregulated, "1024", "0"},
		{Operation, tripped, "1", "0"},
		{Summary, unregulated, "4096", "0"}, {Summary, voltage, "0", "0"}, {Summary, tripped, "1", "0"},
	} {
		source := newShelf()
		i := New(source, c.layout, 0)
		source.c = c.condition
		assert.Equal(t, c.quest+";"+c.op, i.Execute("STAT:QUES:COND?;:STAT:OPER:COND?"), "%s %+v", c.layout, c.condition)
	}
}

func TestEventsLatchUntilRead(t *testing.T) {
	i, source := quiet(0)
	i.Execute("STAT:QUES:ENAB 1;*SRE 8")
	source.c = Condition{On: true, Limited: true}
	play(t, i, []exchange{{"*STB?", "72"}})
	source.c = Condition{}
	play(t, i, []exchange{{"STAT:QUES:COND?", "0"}, {"STAT:QUES?", "1"}, {"STAT:QUES:EVEN?", "0"}, {"*STB?", "0"},
		{"STAT:PRES;QUES:ENAB?", "0"}, {"STAT:OPER:ENAB #B11;ENAB?", "3"}})
}

func TestTripsRefuseToSwitchOn(t *testing.T) {
	i, source := quiet(0)
	source.tripped, source.c = true, Condition{Overvoltage: true}
	play(t, i, []exchange{{"OUTP ON", ""}, {"SYST:ERR?", `-221,"Settings conflict"`},
		{"OUTP:PROT:TRIP?;:VOLT:PROT:TRIP?;:CURR:PROT:TRIP?", "1;1;0"}, {"OUTP:PROT:CLE;TRIP?", "0"}, {"OUTP ON;:OUTP?", "1"}})
}

func TestAvailableAnswerIsInTheStatusByte(t *testing.T) {
	i, _ := quiet(0)
	play(t, i, []exchange{{"*OPC?;*STB?", "1;16"}, {"*TST?;*WAI", "0"}, {"*OPC;*ESR?", "1"}})
}

func TestPanelCommands(t *testing.T) {
	i, source := quiet(0)
	play(t, i, []exchange{{"SYST:RWL", ""}, {"SYST:COMM:RLST?", "RWL"}, {"SYST:REM;KLOC?", "0"}, {"SYST:KLOC ON", ""},
		{"SYST:COMM:RLST LOC;RLST?", "REM"}})
	require.False(t, source.locked)
}

func FuzzExecute(f *testing.F) {
	for _, seed := range []string{"*IDN?;*OPC;*IDN?", "VOLT 1.15;*OPC?", "MEAS:VOLT?;CURR?", `ABCD "x;y",1;:SYST:ERR?`,
		"::;;?*", "*ESE #HFF", "VOLT\t1 , 2", "STAT:QUES:ENAB #B1\x00", "SYST:ERR:ALL?"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, line string) {
		i, source := quiet(4)
		answer := i.Execute(line)
		require.LessOrEqual(t, len(i.status.queue), 4)
		require.NotContains(t, answer, "\n")
		require.True(t, source.s.Volts >= 0 && source.s.Volts <= 120)
		require.True(t, source.s.Amperes >= 0 && source.s.Amperes <= 5)
		require.Contains(t, i.Execute("*IDN?"), "SIMULATED")
	})
}

func BenchmarkTickOfTraffic(b *testing.B) {
	i, _ := quiet(0)
	for b.Loop() {
		i.Execute("VOLT 12.34;*OPC?")
		i.Execute("MEAS:VOLT?;:MEAS:CURR?")
		i.Execute("STAT:QUES:COND?")
	}
}
