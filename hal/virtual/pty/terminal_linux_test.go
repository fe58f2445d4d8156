package pty

import (
	"errors"
	"io"
	"os"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func open(t *testing.T) *Terminal {
	t.Helper()
	terminal, err := Open()
	require.NoError(t, err)
	t.Cleanup(func() { _ = terminal.Close() }) // some tests close it themselves
	return terminal
}

// patience is longer than a loaded machine stalls.
const patience = 30 * time.Second

func near(t *testing.T, terminal *Terminal) *os.File {
	t.Helper()
	f, err := os.OpenFile(terminal.Path(), os.O_RDWR|syscall.O_NOCTTY|syscall.O_NONBLOCK, 0)
	require.NoError(t, err)
	t.Cleanup(func() { _ = f.Close() })
	require.NoError(t, f.SetDeadline(time.Now().Add(patience)))
	return f
}

// TestBytesPassUnchanged: no echo, no line editing, no signal characters.
func TestBytesPassUnchanged(t *testing.T) {
	terminal := open(t)
	f := near(t, terminal)
	all := make([]byte, 256)
	for i := range all {
		all[i] = byte(i)
	}
	for _, way := range []struct {
		from io.Writer
		to   io.Reader
	}{{f, terminal}, {terminal, f}} {
		_, err := way.from.Write(all)
		require.NoError(t, err)
		got := make([]byte, len(all))
		_, err = io.ReadFull(way.to, got)
		require.NoError(t, err)
		require.Equal(t, all, got)
	}
	require.NoError(t, f.SetReadDeadline(time.Now()))
	_, err := f.Read(make([]byte, 1))
	require.ErrorIs(t, err, os.ErrDeadlineExceeded, "nothing came back")
}

func TestNobodyAtTheNearEnd(t *testing.T) {
	terminal := open(t)
	f := near(t, terminal)
	require.NoError(t, f.Close())
	_, err := terminal.Read(make([]byte, 1))
	require.ErrorIs(t, err, io.EOF)
	require.NoError(t, terminal.SetReadDeadline(time.Now()))
	_, err = terminal.Read(make([]byte, 1))
	require.ErrorIs(t, err, os.ErrDeadlineExceeded)
	again := near(t, terminal)
	_, err = again.Write([]byte("x"))
	require.NoError(t, err)
	require.NoError(t, terminal.SetReadDeadline(time.Now().Add(patience)))
	require.Eventually(t, func() bool {
		n, err := terminal.Read(make([]byte, 1))
		return err == nil && n == 1
	}, patience, time.Millisecond)
}

func TestClosingEndsBothSides(t *testing.T) {
	terminal := open(t)
	f := near(t, terminal)
	read := make(chan error, 1)
	go func() {
		_, err := terminal.Read(make([]byte, 1))
		read <- err
	}()
	require.NoError(t, terminal.Close())
	require.Error(t, <-read)
	_, err := f.Read(make([]byte, 1))
	require.True(t, errors.Is(err, io.EOF) || errors.Is(err, syscall.EIO), "%v", err)
}

// TestBytesTakeTheirTime: 96 bytes of 10 bits take a tenth of a second at 9600 bits a
// second, and not less.
func TestBytesTakeTheirTime(t *testing.T) {
	terminal := open(t)
	f := near(t, terminal)
	paced := Pace(terminal, 9600, 10)
	began := time.Now()
	_, err := paced.Write(make([]byte, 96))
	require.NoError(t, err)
	require.GreaterOrEqual(t, time.Since(began), 99*time.Millisecond)
	began = time.Now()
	_, err = f.Write(make([]byte, 20))
	require.NoError(t, err)
	_, err = io.ReadFull(paced, make([]byte, 20))
	require.NoError(t, err)
	require.GreaterOrEqual(t, time.Since(began), 20*time.Millisecond)
	require.NoError(t, paced.Close())
	_, err = paced.Write([]byte("x"))
	require.ErrorIs(t, err, io.ErrClosedPipe)
}
