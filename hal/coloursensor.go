package hal

import "context"

// Referenced is a colour sensor that needs its references before it measures: first the
// dark one, with nothing that gives light back under it, then the white one. They hold
// until the sensor restarts, or their time is over.
type Referenced interface {
	TakeDark(ctx context.Context) error
	TakeWhite(ctx context.Context) error
}

// Presence is a device that can say that it is there without a whole reading.
type Presence interface {
	Present(ctx context.Context) error
}
