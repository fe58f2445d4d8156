package scpiserver

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
)

// ServeLine answers whoever is at the other end of a serial line, one after the
// other, until the context ends or the line is closed. A read that returns io.EOF is
// a client that went. A line cannot hang up: where a reply asks for that, the
// instrument is silent. It closes the line.
func ServeLine(ctx context.Context, line Stream, handler Handler) error {
	stop := context.AfterFunc(ctx, func() { _ = line.Close() }) // the error of a second close says nothing
	defer stop()
	s := serial{client: client{conn: line, handler: handler}}
	defer s.leave()
	for {
		err := s.receive()
		switch {
		case ctx.Err() != nil || errors.Is(err, os.ErrClosed) || errors.Is(err, io.ErrClosedPipe):
			return nil
		case errors.Is(err, io.EOF):
			s.leave()
		case errors.Is(err, os.ErrDeadlineExceeded):
			s.pending, s.over = s.pending[:0], false // a line that was never finished
		case err != nil:
			return fmt.Errorf("serving a serial line: %w", err)
		}
		s.work(ctx)
	}
}

// serial is a line on which somebody is there from the first byte to the end.
type serial struct {
	client
	there bool
}

func (s *serial) work(ctx context.Context) {
	if len(s.pending) > 0 && !s.there {
		s.there = s.handler.Connected()
	}
	for s.hasLine() {
		reply := s.take()
		if reply.Close {
			continue
		}
		s.send(ctx, reply)
		s.alone = false // one that cannot be sent is one that nobody waits for
	}
}

func (s *serial) leave() {
	if s.there {
		s.handler.Disconnected()
	}
	s.there, s.pending, s.over = false, s.pending[:0], false
}
