package front

import (
	"bufio"
	"context"
	"io"
	"log"
	"net"
	"os"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"

	"anodized/hal/virtual"
)

// patience is longer than a loaded machine stalls.
const patience = 30 * time.Second

// room is a front on a clock that the test moves.
type room struct {
	*Front
	t     *testing.T
	clock atomic.Int64
}

func open(t *testing.T, faults ...string) *room {
	return openWith(t, func(*Options) {}, faults...)
}

func openWith(t *testing.T, arrange func(*Options), faults ...string) *room {
	r := &room{t: t}
	setup := virtual.Setup{Seed: 7, Version: "test", Parts: []virtual.Part{{Area: 24.976, Count: 8}}}
	for _, text := range faults {
		fault, err := virtual.ParseFault(text)
		require.NoError(t, err)
		setup.Faults = append(setup.Faults, fault)
	}
	options := Options{Setup: setup, Elapsed: func() time.Duration { return time.Duration(r.clock.Load()) }}
	arrange(&options)
	f, err := Listen(options)
	require.NoError(t, err)
	r.Front = f
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- f.Serve(ctx) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-done)
	})
	return r
}

func (r *room) wait(d time.Duration) { r.clock.Add(int64(d)) }

// client is somebody at the supply's port.
type client struct {
	t    *testing.T
	conn net.Conn
	in   *bufio.Reader
}

func (r *room) dial() *client {
	conn, err := net.Dial("tcp", strings.TrimPrefix(r.SCPI(), "tcp://"))
	require.NoError(r.t, err)
	r.t.Cleanup(func() { _ = conn.Close() })
	require.NoError(r.t, conn.SetDeadline(time.Now().Add(patience)))
	return &client{r.t, conn, bufio.NewReader(conn)}
}

func (c *client) tell(line string) {
	_, err := io.WriteString(c.conn, line+"\n")
	require.NoError(c.t, err)
}

func (c *client) ask(line string) string {
	c.tell(line)
	answer, err := c.in.ReadString('\n')
	require.NoError(c.t, err, line)
	return strings.TrimSuffix(answer, "\n")
}

func (c *client) number(line string) float64 {
	value, err := strconv.ParseFloat(c.ask(line), 64)
	require.NoError(c.t, err)
	return value
}

func (r *room) lid() *modbus.ModbusClient {
	c, err := modbus.NewClient(&modbus.ClientConfiguration{URL: r.Modbus(), Timeout: patience,
		Logger: log.New(io.Discard, "", 0)})
	require.NoError(r.t, err)
	require.NoError(r.t, c.Open())
	r.t.Cleanup(func() { _ = c.Close() })
	return c
}

func (r *room) requireLid(lid *modbus.ModbusClient, closed bool) {
	r.t.Helper()
	got, err := lid.ReadDiscreteInputs(0, 2)
	require.NoError(r.t, err)
	require.Equal(r.t, []bool{closed, closed}, got)
}

// cycled waits for the person to hang a rack.
func (r *room) cycled(lid *modbus.ModbusClient) {
	r.t.Helper()
	r.requireLid(lid, true)
	r.wait(1010 * time.Millisecond)
	r.requireLid(lid, false)
	r.wait(2 * time.Second)
	r.requireLid(lid, true)
}

// run energises and ramps to volts at 1 V/s.
func (r *room) run(c *client, volts int) {
	require.Equal(r.t, "1", c.ask("VOLT 0;CURR 1;:OUTP ON;*OPC?"))
	for tick := 1; tick <= 10*volts; tick++ {
		require.Equal(r.t, "1", c.ask("VOLT "+strconv.FormatFloat(float64(tick)/10, 'f', 2, 64)+";*OPC?"))
		r.wait(100 * time.Millisecond)
	}
}

func TestALoadOverBothProtocols(t *testing.T) {
	r := open(t)
	lid, c := r.lid(), r.dial()
	require.Equal(t, "ANODIZED,SIMULATED BENCH,7,test", c.ask("*IDN?"))
	require.Equal(t, "128", c.ask("*ESR?"))
	r.cycled(lid)
	r.run(c, 20)
	require.InDelta(t, 20, c.number("MEAS:VOLT?"), 0.2)
	require.InDelta(t, 0.72, c.number("MEAS:CURR?"), 0.03)
	require.Equal(t, "2", c.ask("STAT:QUES:COND?"))
	require.Equal(t, "0", c.ask("OUTP OFF;:OUTP?"))
	r.wait(2 * time.Second)
	require.Less(t, c.number("MEAS:VOLT?"), 5.0)
	require.Equal(t, `0,"No error"`, c.ask("SYST:ERR?"))
}

func TestPersonHangsOneRackForEachRun(t *testing.T) {
	r := open(t)
	lid := r.lid()
	r.wait(10 * time.Second)
	r.requireLid(lid, true)
	first := r.dial()
	first.ask("*TST?")
	r.cycled(lid)
	again := r.dial()
	again.ask("*TST?")
	r.wait(1500 * time.Millisecond)
	r.requireLid(lid, true)
	r.run(again, 5)
	third := r.dial()
	third.ask("*TST?")
	r.wait(1500 * time.Millisecond)
	r.requireLid(lid, true)
	again.ask("OUTP OFF;*OPC?")
	require.Greater(t, r.Bench().Truth().Film[0], 7.0)
	fourth := r.dial()
	fourth.ask("*TST?")
	r.cycled(lid)
	require.InDelta(t, 1.5, r.Bench().Truth().Film[0], 0.1)
}

func TestOneWhoComesLaterFindsThePersonAgain(t *testing.T) {
	r := open(t)
	lid, c := r.lid(), r.dial()
	c.ask("*TST?")
	r.cycled(lid)
	require.NoError(t, c.conn.Close())
	require.Eventually(t, func() bool { return r.clients() == 0 }, patience, time.Millisecond)
	r.wait(6 * time.Second)
	r.dial().ask("*TST?")
	r.cycled(lid)
}

func (r *room) clients() (n int) {
	r.bench.Exchange(r.now(), func() { n = r.counter.clients })
	return n
}

func TestUnpluggedSupplyHangsUp(t *testing.T) {
	r := open(t, "supply-unplugged@5V,for=3s")
	c := r.dial()
	c.ask("*TST?")
	r.wait(4 * time.Second)
	require.Equal(t, "1", c.ask("VOLT 10;CURR 1;:OUTP ON;*OPC?"))
	r.wait(2 * time.Second)
	c.tell("VOLT?")
	_, err := c.in.ReadByte()
	require.ErrorIs(t, err, io.EOF)
	gone := r.dial()
	_, err = gone.in.ReadByte()
	require.Error(t, err)
	r.wait(3 * time.Second)
	require.Equal(t, "1", r.dial().ask("OUTP?"))
}

func TestSilentSupplyHearsOff(t *testing.T) {
	r := open(t, "supply-silent@5V,for=2s")
	c := r.dial()
	c.ask("*TST?")
	r.wait(4 * time.Second)
	c.ask("VOLT 10;CURR 1;:OUTP ON;*OPC?")
	r.wait(2 * time.Second)
	c.tell("OUTP OFF;*OPC?")
	require.Eventually(t, func() bool { return !r.Bench().Truth().Output }, patience, time.Millisecond)
	r.wait(3 * time.Second)
	require.Equal(t, "0", c.ask("OUTP?"))
}

func TestGarbageIsNotTheAnswer(t *testing.T) {
	r := open(t, "garbage@start+1s,for=1s")
	c := r.dial()
	want := c.ask("*IDN?")
	r.wait(1500 * time.Millisecond)
	require.NotEqual(t, want, c.ask("*IDN?"))
}

func TestRestartIsSeenInTheEventRegister(t *testing.T) {
	r := open(t, "supply-restarted@5V")
	c := r.dial()
	c.ask("*ESR?")
	r.wait(4 * time.Second)
	c.ask("VOLT 10;CURR 1;:OUTP ON;*OPC?")
	r.wait(2 * time.Second)
	require.Equal(t, "128", c.ask("*ESR?"))
	require.Equal(t, "0;+0.000000E+00;+0.000000E+00", c.ask("OUTP?;:VOLT?;:CURR?"))
}

func TestLostHostTimerSwitchesOff(t *testing.T) {
	r := open(t)
	c := r.dial()
	c.ask("OUTP:PROT:WDOG:DEL 2;*OPC?")
	r.wait(4 * time.Second)
	c.ask("OUTP:PROT:WDOG ON;:VOLT 10;CURR 1;:OUTP ON;*OPC?")
	r.wait(1900 * time.Millisecond)
	require.Equal(t, "1", c.ask("OUTP?"))
	r.wait(2100 * time.Millisecond)
	require.Equal(t, "0;1", c.ask("OUTP?;:OUTP:PROT:TRIP?"))
	require.Equal(t, `-221,"Settings conflict"`, c.ask("OUTP ON;:SYST:ERR?"))
	require.Equal(t, "1", c.ask("OUTP:PROT:CLE;:OUTP ON;:OUTP?"))
}

func TestOvercurrentTrips(t *testing.T) {
	r := open(t, "short-circuit@8V")
	c := r.dial()
	r.wait(4 * time.Second)
	c.ask("CURR:PROT 1;PROT:STAT ON;:OUTP:PROT:DEL 0.5;*OPC?")
	r.run(c, 8)
	r.wait(time.Second)
	require.Equal(t, "0;1", c.ask("OUTP?;:CURR:PROT:TRIP?"))
}

func TestBadOptions(t *testing.T) {
	for name, options := range map[string]Options{
		"speed":     {Speed: -1},
		"address":   {Listen: "127.0.0.1:notaport"},
		"interlock": {InterlockListen: "127.0.0.1:notaport"},
		"setup":     {Setup: virtual.Setup{Parts: []virtual.Part{{Area: -1}}}},
	} {
		_, err := Listen(options)
		require.Error(t, err, name)
	}
}

func TestBenchFileNamesTheAddresses(t *testing.T) {
	r := open(t)
	text := r.BenchFile()
	for _, want := range []string{"# SIMULATED", "address: " + r.SCPI(), "address: " + r.Modbus(), "decimals_v: 2", "decimals_a: 3",
		"settle: 150 ms", "status: questionable", "mains_return: halted", "inputs: [0, 1]", "highest voltage: 120 V"} {
		require.Contains(t, text, want)
	}
	require.Equal(t, 6, decimals(0))
	require.Equal(t, 1, decimals(0.05))
	require.Equal(t, 0, decimals(2))
}

func TestLateReplyComesLate(t *testing.T) {
	r := open(t, "late-reply@start+1s,size=0.03,for=1s")
	c := r.dial()
	c.ask("*TST?")
	r.wait(1500 * time.Millisecond)
	began := time.Now()
	c.ask("*TST?")
	require.GreaterOrEqual(t, time.Since(began), 30*time.Millisecond)
}

func TestLidSwitchFaultsOnTheWire(t *testing.T) {
	r := open(t, "interlock-disagrees@start+5s", "interlock-gone@start+6s,for=1s")
	lid := r.lid()
	r.wait(5500 * time.Millisecond)
	got, err := lid.ReadDiscreteInputs(0, 2)
	require.NoError(t, err)
	require.Equal(t, []bool{true, false}, got)
	r.wait(time.Second)
	_, err = lid.ReadDiscreteInputs(0, 2)
	require.ErrorIs(t, err, modbus.ErrServerDeviceFailure)
	_, err = lid.ReadDiscreteInputs(1, 2)
	require.Error(t, err)
	r.wait(time.Second)
	_, err = lid.ReadDiscreteInputs(0, 2)
	require.NoError(t, err)
}

func TestNoReadingIsTheStandardsNumber(t *testing.T) {
	r := open(t, "no-reading@start+1s")
	c := r.dial()
	require.InDelta(t, 0, c.number("MEAS:VOLT?"), 0.1)
	r.wait(1500 * time.Millisecond)
	require.Equal(t, "+9.910000E+37;+9.910000E+37", c.ask("MEAS:VOLT?;:MEAS:CURR?"))
}

func TestResetAndSlewAndPanel(t *testing.T) {
	r := open(t)
	c := r.dial()
	r.wait(4 * time.Second)
	c.ask("VOLT:SLEW 1;:VOLT:PROT:LEV 60;:VOLT 30;CURR 5;:OUTP ON;*OPC?")
	r.wait(10 * time.Second)
	require.InDelta(t, 10, c.number("MEAS:VOLT?"), 0.2, "the supply slews by itself")
	require.Equal(t, "1", c.ask("SYST:RWL;KLOC?"))
	require.Equal(t, "0;+0.000000E+00;+1.320000E+02;+5.000000E+01", c.ask("*RST;:OUTP?;:VOLT?;:VOLT:PROT:LEV?;:VOLT:SLEW?"))
}

func TestOvervoltageTripStaysUntilCleared(t *testing.T) {
	r := open(t)
	c := r.dial()
	r.wait(4 * time.Second)
	c.ask("VOLT:PROT:LEV 8;*OPC?")
	r.run(c, 10)
	require.Equal(t, "0;1;512", c.ask("OUTP?;:VOLT:PROT:TRIP?;:STAT:QUES:COND?"))
	require.Equal(t, "0;0", c.ask("OUTP:PROT:CLE;:OUTP?;:VOLT:PROT:TRIP?"), "clearing does not switch on")
}

func TestLongLineIsReported(t *testing.T) {
	c := open(t).dial()
	c.tell(strings.Repeat("VOLT 1;", 1000))
	require.Equal(t, `-363,"Input buffer overrun"`, c.ask("SYST:ERR?"))
}

// TestSerialLineIsPaced: 9 bytes out and 2 back at 9600 bits a second, ten a byte.
func TestSerialLineIsPaced(t *testing.T) {
	f, err := Listen(Options{SCPITerminal: true, Baud: 9600})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- f.Serve(ctx) }()
	path := strings.TrimSuffix(strings.TrimPrefix(f.SCPISerial(), "serial://"), "?baud=9600")
	line, err := os.OpenFile(path, os.O_RDWR|syscall.O_NOCTTY|syscall.O_NONBLOCK, 0)
	require.NoError(t, err)
	require.NoError(t, line.SetDeadline(time.Now().Add(patience)))
	began := time.Now()
	_, err = io.WriteString(line, "OUTP?;*W\n")
	require.NoError(t, err)
	_, err = io.ReadFull(line, make([]byte, 2))
	require.NoError(t, err)
	require.GreaterOrEqual(t, time.Since(began), 11*time.Second*10/9600)
	require.Contains(t, f.BenchFile(), "address: "+f.SCPISerial())
	require.NoError(t, line.Close())
	cancel()
	require.NoError(t, <-done)
	_, err = Listen(Options{SCPITerminal: true, Baud: -1})
	require.Error(t, err)
}
