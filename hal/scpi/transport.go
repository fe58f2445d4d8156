package scpi

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"anodized/hal"
)

// Transport carries bytes to an instrument and back. Read returns as soon as there
// is anything; both directions end with os.ErrDeadlineExceeded (or a net.Error that
// says Timeout) once the deadline has passed. Every other error means that the
// device is gone.
type Transport interface {
	io.ReadWriter
	SetDeadline(t time.Time) error
}

// Flusher is a transport that can throw away what is on its way in.
type Flusher interface {
	Flush() error
}

// Pender is a transport that can tell, without waiting, whether bytes have arrived
// that were not yet read.
type Pender interface {
	Pending() (bool, error)
}

// Redial drops the connection and makes a new one, so that late answers die with
// the old one. The one who gave the function owns both.
type Redial func(ctx context.Context) (Transport, error)

// transportError turns an error of a transport into one of the sentinels.
func transportError(doing string, err error) error {
	var timeout interface{ Timeout() bool }
	if errors.Is(err, os.ErrDeadlineExceeded) || errors.As(err, &timeout) && timeout.Timeout() {
		return fmt.Errorf("%s: %w", doing, hal.ErrTimeout)
	}
	return fmt.Errorf("%s: %w: %w", doing, hal.ErrGone, err)
}
