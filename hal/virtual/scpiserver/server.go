package scpiserver

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"sync"
	"time"
)

const (
	mostLine     = 4096             // bytes
	mostClients  = 16               // at once; more are turned away
	idleTime     = 30 * time.Minute // without a byte from a client
	lineTime     = 10 * time.Second // to finish a line
	sendTime     = 5 * time.Second  // to take an answer
	pauseTime    = 100 * time.Millisecond
	receiveBytes = 1024
)

// Reply is what a line leads to on the wire.
type Reply struct {
	Text  string // with its terminator; "" for silence
	Delay time.Duration
	Close bool
}

// Handler is the bench behind the wire. It is called from several goroutines.
type Handler interface {
	Connected() bool           // a client came; false turns it away
	Disconnected()             // it went
	Line(line string) Reply    // one line came
	Overrun() (answered Reply) // a line too long came and was thrown away
}

// Serve answers clients on a listener until the context ends, several at once.
// It closes the listener, and returns when every client is gone.
func Serve(ctx context.Context, listener net.Listener, handler Handler) error {
	var clients sync.WaitGroup
	defer clients.Wait()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	stop := context.AfterFunc(ctx, func() { _ = listener.Close() }) // the error of a second close says nothing
	defer stop()
	places := make(chan struct{}, mostClients)
	for {
		conn, err := listener.Accept()
		if err != nil {
			if ctx.Err() != nil {
				return nil
			}
			if errors.Is(err, net.ErrClosed) {
				return fmt.Errorf("waiting for SCPI clients at %v: %w", listener.Addr(), err)
			}
			wait(ctx, pauseTime) // out of descriptors, perhaps
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

func serveClient(ctx context.Context, conn net.Conn, handler Handler) {
	defer func() { _ = conn.Close() }() // the client is gone either way
	stop := context.AfterFunc(ctx, func() { _ = conn.Close() })
	defer stop()
	if !handler.Connected() {
		return
	}
	defer handler.Disconnected()
	c := client{conn: conn, handler: handler}
	for c.receive() == nil {
		for c.hasLine() {
			if !c.send(ctx, c.take()) {
				return
			}
		}
	}
}

// Stream is a connection to one client.
type Stream interface {
	io.ReadWriteCloser
	SetReadDeadline(time.Time) error
	SetWriteDeadline(time.Time) error
}

// client is one connection and what of a line came so far.
type client struct {
	conn    Stream
	handler Handler
	pending []byte
	over    bool // the line is too long: thrown away up to its end
	alone   bool // nobody takes answers any more; what came before is still carried out
}

func (c *client) receive() error {
	wait := idleTime
	if len(c.pending) > 0 || c.over {
		wait = lineTime
	}
	if err := c.conn.SetReadDeadline(time.Now().Add(wait)); err != nil {
		return err
	}
	var buffer [receiveBytes]byte
	n, err := c.conn.Read(buffer[:])
	c.pending = append(c.pending, buffer[:n]...)
	return err
}

// hasLine tells whether a whole line is there. What is too long is dropped.
func (c *client) hasLine() bool {
	if bytes.ContainsAny(c.pending, "\r\n") {
		return true
	}
	if len(c.pending) > mostLine {
		c.pending, c.over = c.pending[:0], true
	}
	return false
}

// take carries out the first line.
func (c *client) take() Reply {
	end := bytes.IndexAny(c.pending, "\r\n")
	line := string(c.pending[:end])
	c.pending = c.pending[:copy(c.pending, c.pending[end+1:])]
	if c.over || len(line) > mostLine {
		c.over = false
		return c.handler.Overrun()
	}
	if line == "" {
		return Reply{}
	}
	return c.handler.Line(line)
}

func (c *client) send(ctx context.Context, r Reply) bool {
	if r.Delay > 0 && !c.alone && !wait(ctx, r.Delay) {
		return false
	}
	if r.Text != "" && !c.alone {
		c.alone = c.write(r.Text) != nil
	}
	return !r.Close
}

func (c *client) write(text string) error {
	if err := c.conn.SetWriteDeadline(time.Now().Add(sendTime)); err != nil {
		return err
	}
	_, err := c.conn.Write([]byte(text))
	return err
}

func wait(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return true
	}
}
