package bench

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"anodized/hal/modbus"
	"anodized/hal/scpi"
	"anodized/profiles"
)

// transport is what every line here gives to a driver, and what drivers do not see.
type transport interface {
	io.ReadWriteCloser
	SetDeadline(time.Time) error
}

// line owns one connection, of whatever kind, at a time.
type line struct {
	at   string
	open func(context.Context) (transport, error)
	now  transport // nil: not connected
	keep bool      // opening it anew is for a connection that broke only
}

// newLine is a line to an address of one of the allowed kinds. It opens nothing.
func newLine(address string, schemes ...string) (*line, error) {
	a, err := profiles.ParseAddress(address, schemes...)
	if err != nil {
		return nil, fmt.Errorf("%w: address: %w", ErrFile, err)
	}
	return lineTo(a), nil
}

func lineTo(a profiles.Address) *line {
	switch a.Scheme {
	case "serial", "rtu":
		return &line{at: a.Device, keep: true, open: func(context.Context) (transport, error) { return opened(openPort(a)) }}
	case "usbtmc":
		return &line{at: a.Device, keep: true, open: func(context.Context) (transport, error) { return opened(openUSB(a)) }}
	default:
		return &line{at: a.Host, open: func(ctx context.Context) (transport, error) { return opened(dialSocket(ctx, a.Host)) }}
	}
}

// opened keeps a nil pointer from becoming a transport that is not nil.
func opened[T transport](t T, err error) (transport, error) {
	if err != nil {
		return nil, err
	}
	return t, nil
}

// dial closes the connection there is and makes a new one.
func (l *line) dial(ctx context.Context) (transport, error) {
	if err := l.Close(); err != nil {
		return nil, err
	}
	var err error
	l.now, err = l.open(ctx)
	return l.now, err
}

func (l *line) scpi(ctx context.Context) (scpi.Transport, error) { return l.dial(ctx) }

func (l *line) modbus(ctx context.Context) (modbus.Transport, error) { return l.dial(ctx) }

// Close closes the connection, if there is one.
func (l *line) Close() error {
	if l.now == nil {
		return nil
	}
	err := l.now.Close()
	l.now = nil
	if err != nil && !errors.Is(err, os.ErrClosed) {
		return fmt.Errorf("close the connection to %s: %w", l.at, err)
	}
	return nil
}
