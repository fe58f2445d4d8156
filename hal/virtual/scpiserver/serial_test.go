package scpiserver

import (
	"context"
	"errors"
	"io"
	"os"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal/virtual/pty"
)

func serveLine(t *testing.T) (*desk, *pty.Terminal) {
	i, _ := quiet(0)
	d := &desk{i: i, reply: func(r Reply) Reply { return r }, went: make(chan struct{}, 100)}
	line, err := pty.Open()
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- ServeLine(ctx, line, d) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-done)
	})
	return d, line
}

func openLine(t *testing.T, line *pty.Terminal) *os.File {
	f, err := os.OpenFile(line.Path(), os.O_RDWR|syscall.O_NOCTTY|syscall.O_NONBLOCK, 0)
	require.NoError(t, err)
	t.Cleanup(func() { _ = f.Close() }) // some tests close it themselves
	require.NoError(t, f.SetDeadline(time.Now().Add(patience)))
	return f
}

func askLine(t *testing.T, f *os.File, line string) string {
	_, err := io.WriteString(f, line)
	require.NoError(t, err)
	var answer []byte
	for b := make([]byte, 1); len(answer) == 0 || b[0] != '\n'; answer = append(answer, b[0]) {
		_, err := io.ReadFull(f, b)
		require.NoError(t, err)
	}
	return string(answer)
}

func TestSerialClientsComeAndGo(t *testing.T) {
	d, line := serveLine(t)
	for n := range 3 {
		f := openLine(t, line)
		require.Equal(t, "7\n", askLine(t, f, "*ESE 7;*ESE?\r\n"))
		require.Equal(t, "0\n", askLine(t, f, "*TST?\n"))
		d.mu.Lock()
		require.Equal(t, n+1, d.came)
		d.mu.Unlock()
		_, err := io.WriteString(f, "OUTP O") // cut off
		require.NoError(t, err)
		require.NoError(t, f.Close())
		<-d.went
	}
}

// TestSerialLineCannotHangUp: where a socket would be closed, a line is silent.
func TestSerialLineCannotHangUp(t *testing.T) {
	d, line := serveLine(t)
	f := openLine(t, line)
	heard := make(chan struct{})
	d.mu.Lock()
	d.reply = func(Reply) Reply { close(heard); return Reply{Text: "who?\n", Close: true} }
	d.mu.Unlock()
	_, err := io.WriteString(f, "*IDN?\n")
	require.NoError(t, err)
	<-heard
	d.mu.Lock()
	d.reply = func(r Reply) Reply { return r }
	d.mu.Unlock()
	require.Equal(t, "0\n", askLine(t, f, "*TST?\n"), "the next answer, and nothing before it")
}

type broken struct{ pty.Terminal }

var errBroken = errors.New("no such line")

func (*broken) Read([]byte) (int, error)         { return 0, errBroken }
func (*broken) SetReadDeadline(time.Time) error  { return nil }
func (*broken) SetWriteDeadline(time.Time) error { return nil }
func (*broken) Close() error                     { return nil }

func TestBrokenSerialLineIsReported(t *testing.T) {
	i, _ := quiet(0)
	require.ErrorIs(t, ServeLine(t.Context(), &broken{}, &desk{i: i}), errBroken)
}
