//go:build !unix

package bench

import "net"

// stream is a TCP connection. This system gives no way to look for bytes without
// taking them.
type stream struct{ net.Conn }

func newStream(conn net.Conn) (*stream, error) { return &stream{conn}, nil }
