package modbus

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"anodized/hal"
)

// BeaconOptions say which coils light the lamps of a stack light.
type BeaconOptions struct {
	Line     *Line
	Unit     int           // 1 to 247; 0 and 255 over TCP as well
	Timeout  time.Duration // of one answer; 0: DefaultTimeout
	Loopback bool          // function 08 echoes a number
	Lamps    []hal.Lamp
	Coils    []int // of the lamps, in their order, each its own
}

// Beacon is a stack light and its sounders on the coils of a module. Show only says what
// is wanted: who shows something does not wait for a module. Watch must run for the lamps
// to follow. It satisfies hal.Beacon.
type Beacon struct {
	ask *device
	o   BeaconOptions

	wanted  chan struct{} // capacity one: another signal
	setting sync.Mutex    // one goroutine sets coils

	mu          sync.Mutex
	bits, known uint64 // what is wanted, and which coils are known to hold it
	err         error  // of the last attempt
}

const (
	beaconAgain = time.Second      // after a module did not answer
	beaconAnew  = 10 * time.Second // for one that lost its power in between
)

// NewBeacon returns a stack light of which nothing is known: Halt puts it out.
func NewBeacon(o BeaconOptions) (*Beacon, error) {
	ask, err := newDevice("stack light", o.Line, o.Unit, o.Timeout, o.Loopback)
	if err != nil {
		return nil, err
	}
	if len(o.Lamps) == 0 || len(o.Lamps) != len(o.Coils) {
		return nil, fmt.Errorf("stack light: %d lamps on %d coils: each lamp needs a coil, and one is the least", len(o.Lamps), len(o.Coils))
	}
	taken := map[int]bool{}
	for _, address := range o.Coils {
		if address < 0 || address > 65535 || taken[address] {
			return nil, fmt.Errorf("stack light: coil %d: each lamp needs one of its own, from 0 to 65535", address)
		}
		taken[address] = true
	}
	return &Beacon{ask: ask, o: o, wanted: make(chan struct{}, 1)}, nil
}

// Show has the lamps follow a signal, soon. Its error is that of the last attempt to set
// them, until one succeeds.
func (b *Beacon) Show(s hal.Signal) error {
	lit, err := s.Lit(b.o.Lamps)
	if err != nil {
		return err
	}
	b.want(lit)
	select {
	case b.wanted <- struct{}{}:
	default: // one that was not taken yet stands for this one too
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.err
}

func (b *Beacon) want(lit uint64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.known &^= b.bits ^ lit
	b.bits = lit
}

// Halt puts everything out, and waits for it.
func (b *Beacon) Halt() error {
	b.want(0)
	ctx, cancel := context.WithTimeout(context.Background(), beaconAgain)
	defer cancel()
	return b.follow(ctx)
}

// Watch sets the lamps until the context ends: at each signal, again where a module did
// not answer, and all of them every ten seconds.
func (b *Beacon) Watch(ctx context.Context) {
	again, anew := time.NewTicker(beaconAgain), time.NewTicker(beaconAnew)
	defer again.Stop()
	defer anew.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-b.wanted:
		case <-again.C:
		case <-anew.C:
			b.forget()
		}
		if err := b.follow(ctx); err != nil {
			b.ask.line.log.Debug("stack light", "err", err)
		}
	}
}

func (b *Beacon) forget() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.known = 0
}

// follow sets the coils that are not known to hold what is wanted. One that failed ends
// the attempt, so that a silent module costs its line one answer.
func (b *Beacon) follow(ctx context.Context) error {
	b.setting.Lock()
	defer b.setting.Unlock()
	var err error
	for n := range b.o.Coils {
		if err = b.set(ctx, n); err != nil {
			break
		}
	}
	if err != nil && errors.Is(ctx.Err(), context.Canceled) {
		return err // the end says nothing about the module
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.err = err
	return err
}

func (b *Beacon) set(ctx context.Context, n int) error {
	b.mu.Lock()
	lit, known := b.bits>>n&1 == 1, b.known>>n&1 == 1
	b.mu.Unlock()
	if known {
		return nil
	}
	if _, err := b.ask.exchange(ctx, coil(b.o.Coils[n], lit)); err != nil {
		return fmt.Errorf("set the stack light: coil %d: %w", b.o.Coils[n], err)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.bits>>n&1 == 1 == lit { // it may be wanted otherwise by now
		b.known |= 1 << n
	}
	return nil
}

var _ hal.Beacon = (*Beacon)(nil)
