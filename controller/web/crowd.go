package web

import (
	"context"
	"crypto/tls"
	"net"
	"net/http"
	"sync"
	"time"
)

// The bounds of connections.
const (
	headerWait      = 5 * time.Second
	idleWait        = 60 * time.Second
	mostConnections = 256
	sendBuffer      = 64 << 10 // of the kernel, so that slow clients cost little
)

// crowd bounds how many connections there are. One more than that closes the oldest
// of those that have not asked for anything yet, so that whoever opens many and says
// nothing shuts nobody out, least of all a stop.
type crowd struct {
	most  int
	mu    sync.Mutex
	seats map[net.Conn]*seat
	order uint64
}

// seat is one connection. It is safe while a request of it is being answered.
type seat struct {
	number uint64
	safe   int
}

type seatKey struct{}

func newCrowd(most int) *crowd { return &crowd{most: most, seats: map[net.Conn]*seat{}} }

// admit gives a new connection its seat.
func (c *crowd) admit(ctx context.Context, connection net.Conn) context.Context {
	if tcp, is := bare(connection).(*net.TCPConn); is {
		_ = tcp.SetWriteBuffer(sendBuffer) // a wish: the kernel has the last word
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.seats) >= c.most {
		c.evict()
	}
	c.order++
	one := &seat{number: c.order}
	c.seats[connection] = one
	return context.WithValue(ctx, seatKey{}, one)
}

// evict closes the oldest connection that nothing is being answered on.
func (c *crowd) evict() {
	var oldest net.Conn
	for connection, one := range c.seats {
		if one.safe == 0 && (oldest == nil || one.number < c.seats[oldest].number) {
			oldest = connection
		}
	}
	if oldest == nil {
		return // answers are bounded by themselves: streams by number, the rest by time
	}
	delete(c.seats, oldest)
	_ = bare(oldest).Close() // it is unwanted; why it does not close matters to nobody
}

// bare is the connection below TLS, which says no farewell that could take time.
func bare(connection net.Conn) net.Conn {
	if sealed, is := connection.(*tls.Conn); is {
		return sealed.NetConn()
	}
	return connection
}

// follow is the server's ConnState: it frees the seat of a connection that ended.
func (c *crowd) follow(connection net.Conn, state http.ConnState) {
	if state == http.StateClosed || state == http.StateHijacked {
		c.mu.Lock()
		defer c.mu.Unlock()
		delete(c.seats, connection)
	}
}

// keep makes a connection safe while a request of it is answered.
func (c *crowd) keep(ctx context.Context) (release func()) {
	one, seated := ctx.Value(seatKey{}).(*seat)
	if !seated {
		return func() {}
	}
	c.add(one, 1)
	return func() { c.add(one, -1) }
}

func (c *crowd) add(one *seat, n int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	one.safe += n
}
