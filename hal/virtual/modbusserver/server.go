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
	return ServeTCP(ctx, listener, one{unit, module, reachable})
}

// ServeTCP is Serve for several units, and for faults on the wire.
func ServeTCP(ctx context.Context, listener net.Listener, handler Handler) error {
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
				serveClient(ctx, conn, handler)
			})
		default:
			_ = conn.Close() // full
		}
	}
}

func pause(ctx context.Context) { wait(ctx, pauseTime) }

// wait lets time pass; false tells that the context ended meanwhile.
func wait(ctx context.Context, d time.Duration) bool {
	if d <= 0 {
		return ctx.Err() == nil
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return true
	}
}

func serveClient(ctx context.Context, conn net.Conn, handler Handler) {
	defer func() { _ = conn.Close() }() // the client is gone either way
	stop := context.AfterFunc(ctx, func() { _ = conn.Close() })
	defer stop()
	if !handler.Connected() {
		return
	}
	defer handler.Disconnected()
	for {
		if err := conn.SetReadDeadline(time.Now().Add(idleTime)); err != nil {
			return
		}
		q, err := readRequest(conn)
		if err != nil || !answer(ctx, conn, q, handler.Request(q.unit, q.pdu)) {
			return
		}
	}
}

// answer sends a reply; false ends the connection.
func answer(ctx context.Context, conn net.Conn, q request, r Reply) bool {
	if r.Silent || r.Close {
		return !r.Close
	}
	if !wait(ctx, r.Delay) {
		return false
	}
	if err := conn.SetWriteDeadline(time.Now().Add(frameTime)); err != nil {
		return false
	}
	_, err := conn.Write(r.frame(q.frame(r.PDU)))
	return err == nil
}
