package modbusserver

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"time"
)

// silence is how long a line must be quiet for what came to be no request. The 3.5
// characters of the specification cannot be seen behind a system's buffers.
const silence = 100 * time.Millisecond

// Stream is a serial line.
type Stream interface {
	io.ReadWriteCloser
	SetReadDeadline(time.Time) error
	SetWriteDeadline(time.Time) error
}

// ServeLine answers RTU frames on a serial line until the context ends or the line is
// closed. A frame with a wrong check sum, for no unit here, or that a reply says nothing
// to, is met with silence. A read that returns io.EOF is a client that went. It closes
// the line.
func ServeLine(ctx context.Context, line Stream, handler Handler) error {
	stop := context.AfterFunc(ctx, func() { _ = line.Close() }) // the error of a second close says nothing
	defer stop()
	s := serial{line: line, handler: handler, units: map[byte]chan []byte{}, writing: make(chan struct{}, 1)}
	defer s.leave()
	working, finish := context.WithCancel(ctx)
	defer s.working.Wait()
	defer finish()
	for {
		err := s.receive()
		switch {
		case ctx.Err() != nil || errors.Is(err, os.ErrClosed) || errors.Is(err, io.ErrClosedPipe):
			return nil
		case errors.Is(err, io.EOF):
			s.leave()
		case errors.Is(err, os.ErrDeadlineExceeded):
			s.pending = s.pending[:0]
		case err != nil:
			return fmt.Errorf("serving a Modbus line: %w", err)
		}
		s.work(working)
	}
}

type serial struct {
	line    Stream
	handler Handler
	pending []byte
	there   bool

	units   map[byte]chan []byte // what each has been asked
	working sync.WaitGroup
	writing chan struct{} // holds a token while a unit writes: a turn that simulated time can wait for
}

// mostWaiting is how many questions a unit that is busy keeps for later.
const mostWaiting = 16

func (s *serial) receive() error {
	wait := idleTime
	if len(s.pending) > 0 {
		wait = silence
	}
	if err := s.line.SetReadDeadline(time.Now().Add(wait)); err != nil {
		return err
	}
	var buffer [mostPDU + 3]byte
	n, err := s.line.Read(buffer[:])
	s.pending = append(s.pending, buffer[:n]...)
	return err
}

func (s *serial) leave() {
	if s.there {
		s.handler.Disconnected()
	}
	s.there, s.pending = false, s.pending[:0]
}

// work hands on the request that is there. Whatever stands behind one came before its
// answer, which no master sends: it is dropped.
func (s *serial) work(ctx context.Context) {
	length := requestLength(s.pending)
	if length == 0 || len(s.pending) < length {
		return
	}
	frame := s.pending[:length]
	s.pending = s.pending[:0]
	if binary.LittleEndian.Uint16(frame[length-2:]) != checkSum(frame[:length-2]) {
		return
	}
	if !s.there {
		s.there = s.handler.Connected()
	}
	select {
	case s.unit(ctx, frame[0]) <- append([]byte(nil), frame[:length-2]...):
	default: // it is busy, and has no room for more
	}
}

// unit is where a unit takes its questions. Each is a device of its own on the line: it
// answers one question after the other, and keeps no other one from answering.
func (s *serial) unit(ctx context.Context, number byte) chan []byte {
	questions, there := s.units[number]
	if there {
		return questions
	}
	questions = make(chan []byte, mostWaiting)
	s.units[number] = questions
	s.working.Go(func() {
		for {
			select {
			case <-ctx.Done():
				return
			case question := <-questions:
				s.answer(ctx, number, s.handler.Request(number, question[1:]))
			}
		}
	})
	return questions
}

func (s *serial) answer(ctx context.Context, unit byte, reply Reply) {
	if reply.Silent || reply.Close || reply.PDU == nil || !wait(ctx, reply.Delay) {
		return
	}
	answer := append([]byte{unit}, reply.PDU...)
	answer = binary.LittleEndian.AppendUint16(answer, checkSum(answer))
	s.writing <- struct{}{}
	defer func() { <-s.writing }()
	if err := s.line.SetWriteDeadline(time.Now().Add(frameTime)); err != nil {
		return
	}
	_, _ = s.line.Write(reply.frame(answer)) // one that cannot be sent is one that nobody waits for
}

// requestLength is how long the request is that begins here, 0 where that cannot be
// told yet, or ever.
func requestLength(in []byte) int {
	if len(in) < 2 {
		return 0
	}
	switch function := in[1]; {
	case function >= 1 && function <= writeOne, function == diagnostics:
		return 8
	case function == encapsulated:
		return 7
	case (function == 0x0F || function == writeMany) && len(in) >= 7:
		return 9 + int(in[6])
	}
	return 0
}

// checkSum is that of MODBUS over Serial Line V1.02, 6.2.2, with the table that its
// appendix calls for worked out once.
func checkSum(b []byte) uint16 {
	sum := uint16(0xFFFF)
	for _, c := range b {
		sum = sum>>8 ^ sums[byte(sum)^c]
	}
	return sum
}

var sums = func() (table [256]uint16) {
	for i := range table {
		sum := uint16(i)
		for range 8 {
			carry := sum & 1
			sum = sum>>1 ^ 0xA001*carry
		}
		table[i] = sum
	}
	return table
}()
