package hal

import "context"

// EmergencyStop reads the contacts of the emergency stop in one exchange. A stop
// with one contact says the same on both channels. An open channel, and any error,
// means pressed. The wiring removes the power; this only tells.
type EmergencyStop interface {
	Contacts(ctx context.Context) (Channels, error)
}

// Changer is an optional ability of an [Interlock]: it tells at once that a channel
// moved, without being asked. The channel has room for one: what is not taken yet
// stands for all that came since. It says nothing about where the contacts are now,
// it may say so without need, and it is never closed.
type Changer interface {
	Changed() <-chan struct{}
}
