package stand

import (
	"context"
	"errors"
	"fmt"
	"net"
	"sync"
)

// Plug is where a driver is plugged in. One connection at a time: who dials hangs up what
// was there.
type Plug struct {
	Tap *Tap // on every cable; nil: none

	mu         sync.Mutex
	instrument Instrument
	line       Cable
	pulled     bool
}

// Instrument is who answers at the far end of a cable.
type Instrument interface {
	meet(ctx context.Context, far *End) error
}

// NewPlug puts an instrument at a plug.
func NewPlug(instrument Instrument, tap *Tap) *Plug {
	return &Plug{Tap: tap, instrument: instrument}
}

// Dial makes a new cable, and is an error while the plug is pulled.
func (p *Plug) Dial(ctx context.Context) (*End, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.hangUp()
	if p.pulled {
		return nil, errors.New("nothing is plugged in")
	}
	p.line = NewCable()
	if p.Tap != nil {
		p.Tap.on(p.line)
	}
	if err := p.instrument.meet(ctx, p.line.Far); err != nil {
		return nil, fmt.Errorf("dial: %w", err)
	}
	return p.line.Near, nil
}

func (p *Plug) hangUp() {
	if p.line.Near != nil {
		_ = p.line.Near.Close() // a cable in memory can always be pulled
	}
}

// Pull takes the cable out: both ends read its end, and nobody can dial.
func (p *Plug) Pull() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.pulled = true
	p.hangUp()
}

// Drop ends the connection; the next to dial has one again.
func (p *Plug) Drop() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.hangUp()
}

// Put plugs an instrument in, the one that was there or another one.
func (p *Plug) Put(instrument Instrument) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.hangUp()
	p.pulled, p.instrument = false, instrument
}

// Room is a listener in memory: whoever dials has a cable to it.
type Room struct {
	calls  chan net.Conn
	closed chan struct{}
	once   sync.Once
}

// NewRoom returns a listener for a server of connections.
func NewRoom() *Room { return &Room{calls: make(chan net.Conn), closed: make(chan struct{})} }

// Accept waits for who dials.
func (r *Room) Accept() (net.Conn, error) {
	select {
	case conn := <-r.calls:
		return conn, nil
	case <-r.closed:
		return nil, net.ErrClosed
	}
}

// Close turns everybody away.
func (r *Room) Close() error {
	r.once.Do(func() { close(r.closed) })
	return nil
}

// Addr is the memory of this computer.
func (r *Room) Addr() net.Addr { return inMemory{} }

func (r *Room) meet(ctx context.Context, far *End) error {
	select {
	case r.calls <- far:
		return nil
	case <-r.closed:
		return net.ErrClosed
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Line is an instrument on a serial line: it answers each cable until that is pulled.
type Line func(far *End)

func (l Line) meet(_ context.Context, far *End) error {
	far.broken = true
	go l(far)
	return nil
}
