package web

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"time"
)

// closeWait is how long requests may take to end when the server does.
const closeWait = 2 * time.Second

// Run follows the Station for the streams and the totals until ctx is done.
func (s *Server) Run(ctx context.Context) { s.pump.run(ctx) }

// Serve answers on a listener until ctx is done. It does not follow the Station:
// Run does.
func (s *Server) Serve(ctx context.Context, listener net.Listener) error {
	crowd := newCrowd(mostConnections)
	server := &http.Server{
		Handler: s.seated(crowd), ReadHeaderTimeout: headerWait, WriteTimeout: sendWait, IdleTimeout: idleWait, MaxHeaderBytes: 16 << 10,
		ConnContext: crowd.admit, ConnState: crowd.follow, ErrorLog: slog.NewLogLogger(s.Log.Handler(), slog.LevelDebug),
		BaseContext: func(net.Listener) context.Context { return ctx },
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(listener) }()
	select {
	case err := <-ended:
		return fmt.Errorf("serve at %s: %w", listener.Addr(), err)
	case <-ctx.Done():
	}
	closing, cancel := context.WithTimeout(context.WithoutCancel(ctx), closeWait)
	defer cancel()
	if err := server.Shutdown(closing); err != nil {
		if err := server.Close(); err != nil {
			return fmt.Errorf("close the server: %w", err)
		}
	}
	if err := <-ended; !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("serve at %s: %w", listener.Addr(), err)
	}
	return nil
}

// seated keeps the connection of a request for as long as it is answered. While the
// body of a POST is still coming the connection is not safe yet.
func (s *Server) seated(c *crowd) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodGet || r.Method == http.MethodHead {
			defer c.keep(r.Context())()
		}
		s.handler.ServeHTTP(w, r)
	})
}
