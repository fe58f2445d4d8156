package modbusserver

import (
	"context"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"
)

const (
	mostClients = 16
	idleTime    = 30 * time.Minute
	frameTime   = 10 * time.Second // to take an answer
	pauseTime   = 100 * time.Millisecond
)

// Serve answers clients on a listener until the context ends, several at once.
// It closes the listener, and returns when every client is gone. Reachable tells
// for each request whether the module hears it; a nil Reachable always does.
func Serve(ctx context.Context, listener net.Listener, unit byte, module Module, reachable func() bool) error {
	var clients sync.WaitGroup
	defer clients.Wait()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	stop := context.AfterFunc(ctx, func() { _ = listener.Close() }) // the error of a second close says nothing
	defer stop()
	places := make(chan struct{}, mostClients)
	for {
		conn, err := listener.Accept()
		if ctx.Err() != nil {
			return nil
		}
		if errors.Is(err, net.ErrClosed) {
			return fmt.Errorf("waiting for Modbus clients at %v: %w", listener.Addr(), err)
		}
		if err != nil {
			pause(ctx) // out of descriptors, perhaps
			continue
		}
		select {
		case places <- struct{}{}:
			clients.Go(func() {
				defer func() { <-places }()
				serveClient(ctx, conn, unit, module, reachable)
			})
		default:
			_ = conn.Close() // full
		}
	}
}

func pause(ctx context.Context) {
	timer := time.NewTimer(pauseTime)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-timer.C:
	}
}

func serveClient(ctx context.Context, conn net.Conn, unit byte, module Module, reachable func() bool) {
	defer func() { _ = conn.Close() }() // the client is gone either way
	stop := context.AfterFunc(ctx, func() { _ = conn.Close() })
	defer stop()
	for {
		if err := conn.SetReadDeadline(time.Now().Add(idleTime)); err != nil {
			return
		}
		q, err := readRequest(conn)
		if err != nil || reachable != nil && !reachable() {
			return
		}
		if err := conn.SetWriteDeadline(time.Now().Add(frameTime)); err != nil {
			return
		}
		if _, err := conn.Write(answer(q, unit, module)); err != nil {
			return
		}
	}
}
