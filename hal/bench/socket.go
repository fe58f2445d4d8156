package bench

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/url"
	"time"
)

// The ports where an address names none: raw SCPI (common practice, no source),
// and Modbus TCP (MODBUS Messaging on TCP/IP V1.0b).
const (
	scpiPort   = "5025"
	modbusPort = "502"
)

// dialTimeout bounds the making of a connection.
const dialTimeout = 2 * time.Second

// hostPort reads tcp://host:port.
func hostPort(address, defaultPort string) (string, error) {
	u, err := url.Parse(address)
	switch {
	case err != nil:
		return "", fmt.Errorf("%w: address %q: tcp://host:port was expected", ErrFile, address)
	case u.Scheme == "serial" || u.Scheme == "usbtmc":
		return "", fmt.Errorf("%w: address %q: this version reaches tcp://host:port only", ErrFile, address)
	case u.Scheme != "tcp" || u.Hostname() == "" || (u.Path != "" && u.Path != "/") || u.RawQuery != "" || u.User != nil:
		return "", fmt.Errorf("%w: address %q: tcp://host:port was expected", ErrFile, address)
	}
	port := u.Port()
	if port == "" {
		port = defaultPort
	}
	return net.JoinHostPort(u.Hostname(), port), nil
}

// socket owns one TCP connection at a time.
type socket struct {
	address string
	conn    *stream
}

// dial closes the connection there is and makes a new one.
func (s *socket) dial(ctx context.Context) (*stream, error) {
	if err := s.Close(); err != nil {
		return nil, err
	}
	dialer := net.Dialer{Timeout: dialTimeout}
	conn, err := dialer.DialContext(ctx, "tcp", s.address)
	if err != nil {
		return nil, err
	}
	s.conn, err = newStream(conn)
	return s.conn, err
}

// Close closes the connection, if there is one.
func (s *socket) Close() error {
	if s.conn == nil {
		return nil
	}
	err := s.conn.Close()
	s.conn = nil
	if err != nil && !errors.Is(err, net.ErrClosed) {
		return fmt.Errorf("close the connection to %s: %w", s.address, err)
	}
	return nil
}
