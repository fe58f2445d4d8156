//go:build unix

package bench

import (
	"fmt"
	"net"
	"syscall"
)

// stream is a TCP connection that can tell whether bytes wait to be read.
type stream struct {
	net.Conn
	raw  syscall.RawConn
	peek func(fd uintptr) bool // made once, so that looking does not allocate
	byte [1]byte
	n    int
	err  error
}

func newStream(conn net.Conn) (*stream, error) {
	s := &stream{Conn: conn}
	systemConn, ok := conn.(syscall.Conn)
	if !ok {
		return nil, fmt.Errorf("connection of type %T has no system socket", conn)
	}
	raw, err := systemConn.SyscallConn()
	if err != nil {
		return nil, fmt.Errorf("reach the system socket: %w", err)
	}
	s.raw = raw
	s.peek = func(fd uintptr) bool {
		s.n, _, s.err = syscall.Recvfrom(int(fd), s.byte[:], syscall.MSG_PEEK)
		return true // whatever it found: nothing is waited for
	}
	return s, nil
}

// Pending tells whether a byte, or the end of the stream, has arrived. Go's sockets
// do not block, so nothing there is EAGAIN.
func (s *stream) Pending() (bool, error) {
	if err := s.raw.Read(s.peek); err != nil {
		return false, err
	}
	switch s.err {
	case nil:
		return true, nil
	case syscall.EAGAIN, syscall.EINTR:
		return false, nil
	}
	return false, s.err
}
