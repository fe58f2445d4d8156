package scpiserver

import (
	"bufio"
	"context"
	"io"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// desk is a handler in front of one instrument.
type desk struct {
	mu    sync.Mutex
	i     *Instrument
	full  bool
	reply func(Reply) Reply
	came  int
	went  chan struct{}
}

func (d *desk) Connected() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.came++
	return !d.full
}

func (d *desk) Disconnected() { d.went <- struct{}{} }

func (d *desk) Line(line string) Reply {
	d.mu.Lock()
	defer d.mu.Unlock()
	r := Reply{Text: d.i.Execute(line)}
	if r.Text != "" {
		r.Text += "\n"
	}
	return d.reply(r)
}

func (d *desk) Overrun() Reply {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.i.Overrun()
	return Reply{}
}

func serve(t *testing.T) (*desk, string) {
	i, _ := quiet(0)
	d := &desk{i: i, reply: func(r Reply) Reply { return r }, went: make(chan struct{}, 100)}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- Serve(ctx, listener, d) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-done)
	})
	return d, listener.Addr().String()
}

// patience is longer than a loaded machine stalls.
const patience = 30 * time.Second

func dial(t *testing.T, address string) (net.Conn, *bufio.Reader) {
	conn, err := net.Dial("tcp", address)
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close() })
	require.NoError(t, conn.SetDeadline(time.Now().Add(patience)))
	return conn, bufio.NewReader(conn)
}

func ask(t *testing.T, conn net.Conn, r *bufio.Reader, line string) string {
	_, err := conn.Write([]byte(line))
	require.NoError(t, err)
	answer, err := r.ReadString('\n')
	require.NoError(t, err)
	return answer
}

func TestEveryTerminatorEndsALine(t *testing.T) {
	_, address := serve(t)
	conn, r := dial(t, address)
	for _, line := range []string{"*ESE 3;*ESE?\n", "*ESE 3;*ESE?\r\n", "*ESE 3;*ESE?\r"} {
		require.Equal(t, "3\n", ask(t, conn, r, line))
	}
}

func TestSplitAndMergedLines(t *testing.T) {
	_, address := serve(t)
	conn, r := dial(t, address)
	_, err := conn.Write([]byte("*ES"))
	require.NoError(t, err)
	require.Equal(t, "4\n", ask(t, conn, r, "E 4;*ESE?\n*TST?\n"))
	answer, err := r.ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "0\n", answer)
}

func TestLongLineIsThrownAwayAndReported(t *testing.T) {
	_, address := serve(t)
	conn, r := dial(t, address)
	_, err := conn.Write([]byte(strings.Repeat("A", 100_000) + "\n"))
	require.NoError(t, err)
	require.Equal(t, "-363,\"Input buffer overrun\"\n", ask(t, conn, r, "SYST:ERR?\n"))
}

func TestClientsAtOnceShareTheInstrument(t *testing.T) {
	_, address := serve(t)
	first, one := dial(t, address)
	second, two := dial(t, address)
	require.Equal(t, "9\n", ask(t, first, one, "*ESE 9;*ESE?\n"))
	require.Equal(t, "9\n", ask(t, second, two, "*ESE?\n"))
}

func TestClientsAboveTheLimitAreTurnedAway(t *testing.T) {
	d, address := serve(t)
	for range mostClients {
		conn, r := dial(t, address)
		ask(t, conn, r, "*TST?\n")
	}
	_, r := dial(t, address)
	_, err := r.ReadByte()
	require.Error(t, err)
	d.mu.Lock()
	defer d.mu.Unlock()
	require.Equal(t, mostClients, d.came)
}

func TestHandlerTurnsAwayAndHangsUp(t *testing.T) {
	d, address := serve(t)
	conn, r := dial(t, address)
	ask(t, conn, r, "*TST?\n")
	d.mu.Lock()
	d.full = true
	d.reply = func(r Reply) Reply { return Reply{Close: true} }
	d.mu.Unlock()
	_, err := conn.Write([]byte("*TST?\n"))
	require.NoError(t, err)
	_, err = r.ReadByte()
	require.ErrorIs(t, err, io.EOF)
	<-d.went
	_, r = dial(t, address)
	_, err = r.ReadByte()
	require.Error(t, err)
}

func TestLateReply(t *testing.T) {
	d, address := serve(t)
	d.mu.Lock()
	d.reply = func(r Reply) Reply { r.Delay = 20 * time.Millisecond; return r }
	d.mu.Unlock()
	conn, r := dial(t, address)
	began := time.Now()
	ask(t, conn, r, "*TST?\n")
	require.GreaterOrEqual(t, time.Since(began), 20*time.Millisecond)
}

// What an instrument has received it carries out, also where the client that sent it
// does not wait for the answer to an earlier line.
func TestALineBehindALateAnswerIsCarriedOutWithoutItsClient(t *testing.T) {
	d, address := serve(t)
	d.mu.Lock()
	d.reply = func(r Reply) Reply { r.Delay = 50 * time.Millisecond; return r }
	d.mu.Unlock()
	conn, _ := dial(t, address)
	_, err := conn.Write([]byte("*IDN?\n*TST?\n*ESE 77\n"))
	require.NoError(t, err)
	require.NoError(t, conn.Close())
	<-d.went
	second, r := dial(t, address)
	require.Equal(t, "77\n", ask(t, second, r, "*ESE?\n"))
}
