package main

import (
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// relay stands between the daemons and the supply, and counts who comes.
type relay struct {
	listener net.Listener
	to       string
	came     atomic.Int32
	beside   atomic.Int32  // who came while another was there, and stayed
	place    chan struct{} // of the one that talks to the supply
}

// leaves is how long it may take until it is seen that the one before has gone: a daemon
// that makes its link anew closes the old one first, and this machine may see that later.
const leaves = 2 * time.Second

func newRelay(t *testing.T, to string) *relay {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	r := &relay{listener: listener, to: strings.TrimPrefix(to, "tcp://"), place: make(chan struct{}, 1)}
	var all sync.WaitGroup
	all.Go(func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			all.Go(func() { r.carry(conn) })
		}
	})
	t.Cleanup(func() {
		require.NoError(t, listener.Close())
		all.Wait()
	})
	return r
}

func (r *relay) carry(from net.Conn) {
	defer func() { _ = from.Close() }() // either side may have closed it
	r.came.Add(1)
	select {
	case r.place <- struct{}{}:
		defer func() { <-r.place }()
	case <-time.After(leaves):
		r.beside.Add(1)
	}
	to, err := net.Dial("tcp", r.to)
	if err != nil {
		return
	}
	go func() {
		_, _ = io.Copy(to, from) // its end is the end of the connection
		_ = to.Close()
	}()
	_, _ = io.Copy(from, to)
}

// Daemons that are started at once on one bench: one serves, and it alone ever talks to
// the supply; each other ends with status 3 and names the first.
func TestOneOfManyDaemonsHasTheBench(t *testing.T) {
	t.Parallel()
	sum := newFigures("daemons")
	rounds(t, *processDaemons, func(t *testing.T, n int) {
		folder := t.TempDir()
		plant := stand(t, folder, nil)
		between := newRelay(t, plant.front.SCPI())
		text, err := os.ReadFile(plant.file)
		require.NoError(t, err)
		own := strings.Replace(string(text), plant.front.SCPI(), "tcp://"+between.listener.Addr().String(), 1)
		require.NotEqual(t, string(text), own)
		require.NoError(t, os.WriteFile(plant.file, []byte(own), 0o600))

		many := 3
		if n%10 == 9 {
			many = 20
		}
		first, losers := startDaemons(t, plant.file, folder, many)
		for _, said := range losers {
			assert.Contains(t, said, "process ")
		}
		sum.count("daemons refused")
		sum.value("daemons at once", float64(many))
		sum.value("connections to the supply", float64(between.came.Load()))
		assert.Len(t, losers, many-1)
		assert.Zero(t, between.beside.Load(), "one at a time")
		require.NoError(t, first.Process.Signal(syscall.SIGTERM))
		require.NoError(t, first.Wait())
		assert.Zero(t, between.beside.Load(), "the one that serves may come again after a stall, and nobody else beside it")
	})
	sum.tell(t, *processDaemons)
}

// startDaemons starts so many at once, and returns the one that serves and what the others
// said when they ended.
func startDaemons(t *testing.T, bench, folder string, many int) (first *exec.Cmd, losers []string) {
	t.Helper()
	type end struct {
		command *exec.Cmd
		serves  bool
		said    string
	}
	ends := make(chan end, many)
	for n := range many {
		command := exec.Command("anodized", "serve", "--json", "--listen", "127.0.0.1:0", "--bench", bench,
			"--journal", filepath.Join(folder, "j"+string(rune('a'+n))+".db"))
		out, err := command.StdoutPipe()
		require.NoError(t, err)
		var said strings.Builder
		command.Stderr = &said
		require.NoError(t, command.Start())
		t.Cleanup(func() {
			if command.ProcessState == nil {
				assert.NoError(t, command.Process.Kill())
			}
		})
		go func() {
			line := make([]byte, 4096)
			if got, err := out.Read(line); err == nil && got > 0 {
				ends <- end{command: command, serves: true}
				return
			}
			_ = command.Wait() // its status is looked at below
			ends <- end{command: command, said: said.String()}
		}()
	}
	limit := time.After(2 * time.Minute)
	for range many {
		select {
		case one := <-ends:
			if one.serves {
				require.Nil(t, first, "two daemons serve one bench")
				first = one.command
				continue
			}
			assert.Equal(t, statusCannot, one.command.ProcessState.ExitCode(), one.said)
			losers = append(losers, one.said)
		case <-limit:
			t.Fatal("the daemons neither serve nor end")
		}
	}
	require.NotNil(t, first, "one of them serves: %q", losers)
	return first, losers
}
