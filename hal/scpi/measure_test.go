package scpi

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// canned is a transport that answers each line at once from a table, and allocates
// nothing, so that the driver's own work is seen.
type canned struct {
	answers map[string][]byte
	waiting []byte
}

func (c *canned) Write(p []byte) (int, error) {
	line := bytes.TrimRight(p, "\n")
	if bytes.HasPrefix(line, []byte("*ESE ")) {
		number, _, _ := bytes.Cut(line[5:], []byte(";"))
		c.answers["*ESE?"] = append(bytes.Clone(number), '\n')
		c.waiting = c.answers["*ESE?"]
		return len(p), nil
	}
	if answer, ok := c.answers[string(line)]; ok {
		c.waiting = answer
		return len(p), nil
	}
	c.waiting = c.join(string(line))
	return len(p), nil
}

func (c *canned) join(line string) []byte {
	var answers []string
	for _, unit := range strings.Split(line, ";") {
		if answer, ok := c.answers[strings.TrimPrefix(unit, ":")]; ok {
			answers = append(answers, strings.TrimSpace(string(answer)))
		}
	}
	if len(answers) == 0 {
		return nil
	}
	return []byte(strings.Join(answers, ";") + "\n")
}

func (c *canned) Read(p []byte) (int, error) {
	n := copy(p, c.waiting)
	c.waiting = c.waiting[n:]
	return n, nil
}

func (c *canned) SetDeadline(time.Time) error { return nil }

func cannedSupply(tb testing.TB) (*Supply, *canned) {
	tb.Helper()
	c := &canned{answers: map[string][]byte{
		"*IDN?": []byte("A,B,C,D\n"), "OUTP?": []byte("0\n"), "VOLT?": []byte("5.000\n"), "CURR?": []byte("0.1\n"),
		"MEAS:VOLT?": []byte("4.9987\n"), "MEAS:CURR?": []byte("0.05\n"), "*OPC?": []byte("1\n"), "*ESR?": []byte("0\n"),
		"SYST:ERR?": []byte("0,\"No error\"\n"), "STAT:QUES:COND?": []byte("2\n"),
		"MEAS:VOLT?;:MEAS:CURR?;:STAT:QUES:COND?": []byte("+1.23450E+01;+1.23450E-01;2\n"),
	}}
	s, err := Open(tb.Context(), Options{Transport: c, Dialect: plain(), HighestVolts: 120, HighestAmperes: 5})
	require.NoError(tb, err)
	return s, c
}

// TestMeasureAllocatesNothing: with a context that cannot be cancelled; one that can
// costs its registration.
func TestMeasureAllocatesNothing(t *testing.T) {
	s, _ := cannedSupply(t)
	require.Zero(t, testing.AllocsPerRun(100, func() {
		if sample, err := s.Measure(context.Background()); err != nil || sample.Volts != 12.345 {
			t.Error(sample, err)
		}
	}))
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	require.LessOrEqual(t, testing.AllocsPerRun(100, func() {
		if _, err := s.Measure(ctx); err != nil {
			t.Error(err)
		}
	}), 8.0)
}

func BenchmarkMeasure(b *testing.B) {
	s, _ := cannedSupply(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Measure(context.Background()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMeasureCancellable(b *testing.B) {
	s, _ := cannedSupply(b)
	ctx, cancel := context.WithCancel(b.Context())
	defer cancel()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Measure(ctx); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkParseNumber(b *testing.B) {
	text := []byte("+1.23450E+01")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ParseNumber(text); err != nil {
			b.Fatal(err)
		}
	}
}
