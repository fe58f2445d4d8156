package bench

import (
	"context"
	"net"
	"time"
)

// dialTimeout bounds the making of a connection.
const dialTimeout = 2 * time.Second

// dialSocket makes a TCP connection.
func dialSocket(ctx context.Context, host string) (*stream, error) {
	dialer := net.Dialer{Timeout: dialTimeout}
	conn, err := dialer.DialContext(ctx, "tcp", host)
	if err != nil {
		return nil, err
	}
	return newStream(conn)
}
