package modbus

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"sync"
	"syscall"
	"testing"
	"time"

	peer "github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// inputs serves discrete inputs through a library that was not written here.
type inputs struct {
	mu     sync.Mutex
	closed map[uint16]bool
}

func (i *inputs) HandleDiscreteInputs(r *peer.DiscreteInputsRequest) ([]bool, error) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if r.UnitId != 7 || int(r.Addr)+int(r.Quantity) > 2000 {
		return nil, peer.ErrIllegalDataAddress
	}
	answer := make([]bool, r.Quantity)
	for n := range answer {
		answer[n] = i.closed[r.Addr+uint16(n)]
	}
	return answer, nil
}

func (i *inputs) HandleCoils(*peer.CoilsRequest) ([]bool, error) {
	return nil, peer.ErrIllegalFunction
}

func (i *inputs) HandleHoldingRegisters(*peer.HoldingRegistersRequest) ([]uint16, error) {
	return nil, peer.ErrIllegalFunction
}

func (i *inputs) HandleInputRegisters(*peer.InputRegistersRequest) ([]uint16, error) {
	return nil, peer.ErrIllegalFunction
}

// patience is longer than a loaded machine stalls.
const patience = 30 * time.Second

// serve starts the independent server on a free port.
func serve(t *testing.T, handler peer.RequestHandler) (address string) {
	t.Helper()
	for {
		probe, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(t, err)
		address := probe.Addr().String()
		require.NoError(t, probe.Close())
		server, err := peer.NewServer(&peer.ServerConfiguration{
			URL: "tcp://" + address, MaxClients: 4, Logger: log.New(io.Discard, "", 0),
		}, handler)
		require.NoError(t, err)
		err = server.Start()
		if errors.Is(err, syscall.EADDRINUSE) {
			continue // somebody took it meanwhile
		}
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, server.Stop()) })
		return address
	}
}

// TestIndependentServer reads channels that are next to each other, reversed, and
// as far apart as one request reaches.
func TestIndependentServer(t *testing.T) {
	handler := &inputs{closed: map[uint16]bool{}}
	address := serve(t, handler)
	dial := dialer(t, address)
	for _, pair := range [][2]int{{0, 1}, {9, 3}, {0, 1999}, {1999, 1992}} {
		t.Run(fmt.Sprint(pair), func(t *testing.T) {
			lid, err := New(Options{Dial: dial, Unit: 7, Inputs: pair, Timeout: patience})
			require.NoError(t, err)
			for _, want := range [][2]bool{{true, true}, {false, true}, {true, false}, {false, false}} {
				handler.mu.Lock()
				handler.closed = map[uint16]bool{uint16(pair[0]): want[0], uint16(pair[1]): want[1]}
				handler.mu.Unlock()
				channels, err := lid.Channels(t.Context())
				require.NoError(t, err)
				require.Equal(t, want, channels.Closed)
			}
		})
	}
	lid, err := New(Options{Dial: dial, Unit: 8, Inputs: [2]int{0, 1}, Timeout: patience})
	require.NoError(t, err)
	_, err = lid.Channels(t.Context())
	require.ErrorIs(t, err, hal.ErrRefused)
}

func dialer(t *testing.T, address string) Dial {
	var conn net.Conn
	t.Cleanup(func() {
		if conn != nil {
			require.NoError(t, conn.Close())
		}
	})
	return func(ctx context.Context) (Transport, error) {
		if conn != nil {
			if err := conn.Close(); err != nil {
				return nil, err
			}
		}
		var err error
		conn, err = new(net.Dialer).DialContext(ctx, "tcp", address)
		return conn, err
	}
}
