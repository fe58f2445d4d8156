package stand

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"anodized/hal"
	"anodized/hal/gpio"
	"anodized/hal/virtual"
)

// Board is a computer with a virtual bench on its GPIO lines and buses.
type Board struct {
	bench *virtual.Bench
	now   func() time.Duration

	mu       sync.Mutex
	gone     bool
	pulled   chan struct{} // closed with the chip
	sequence uint32
	codes    [2]int // of the converters that program volts and amperes
	config   uint16 // of the converter that monitors
	spoilt   func() error
	reading  atomic.Pointer[func(channel int, share float64) int16]
	restarts atomic.Int32 // how often it still says that it restarted
	stuck    func()       // not nil: a transaction waits in it
}

// NewBoard returns a board whose bench has come to the time that now tells.
func NewBoard(bench *virtual.Bench, now func() time.Duration) *Board {
	return &Board{bench: bench, now: now, pulled: make(chan struct{})}
}

// The labels of its lines. An active line is a closed contact, or what it says.
const (
	LidA, LidB                    = "LID-A", "LID-B"
	StopA, StopB                  = "STOP-A", "STOP-B"
	PulseLine, DropLine, MirrorIn = "CONTACTOR-PULSE", "CONTACTOR-DROP", "CONTACTOR-MIRROR"
	AirIn                         = "AIRFLOW"
	EnableLine                    = "SUPPLY-ENABLE"
)

// Lamps are the labels of the stack light's lines, in the order of the lamps.
var Lamps = []string{"RED", "YELLOW", "GREEN", "BLUE", "WHITE", "SOUNDER", "CHIME"}

var inputs = map[string]int{LidA: 0, LidB: 1, StopA: virtual.StopInput, StopB: virtual.StopInput + 1, MirrorIn: virtual.MirrorInput, AirIn: virtual.AirInput}

// lines are lines of one request.
type lines struct {
	board *Board
	names []string
}

// Request gives lines their first levels.
func (b *Board) Request(r gpio.Request) (gpio.Lines, error) {
	l := &lines{board: b}
	for _, line := range r.Lines {
		l.names = append(l.names, line.Name)
	}
	for i, line := range r.Lines {
		if line.Output {
			if err := l.Set(1<<i, map[bool]uint64{true: 1 << i}[line.First]); err != nil {
				return nil, err
			}
		}
	}
	return l, nil
}

// Unplug takes the chip away.
func (b *Board) Unplug() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.gone {
		b.gone = true
		close(b.pulled)
	}
}

func (b *Board) there() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.gone {
		return fmt.Errorf("%w: no such device", hal.ErrGone)
	}
	return nil
}

// Values reads all lines at one moment.
func (l *lines) Values() (bits uint64, err error) {
	if err := l.board.there(); err != nil {
		return 0, err
	}
	l.board.bench.Exchange(l.board.now(), func() {
		for i, name := range l.names {
			var on bool
			if on, err = l.value(name); err != nil {
				return
			}
			if on {
				bits |= 1 << i
			}
		}
	})
	return bits, err
}

func (l *lines) value(name string) (bool, error) {
	number, is := inputs[name]
	switch {
	case name == EnableLine:
		return l.board.bench.Source().Settings().Output, nil
	case !is:
		on, _ := l.board.bench.Coil(coilOf(name)) // what was requested is there
		return on != (name == DropLine), nil
	}
	all, err := l.board.bench.ModuleInputs(number, 1)
	if err != nil {
		return false, fmt.Errorf("%s: %w", name, hal.ErrGone)
	}
	return all[number], nil
}

// coilOf is which coil of the bench hangs on an output.
func coilOf(name string) int {
	switch name {
	case PulseLine:
		return virtual.PulseCoil
	case DropLine:
		return virtual.DropCoil
	}
	return virtual.FirstLamp + slices.Index(Lamps, name)
}

// Set drives the lines of the mask. The drop of the contactor is active where its coil
// is out.
func (l *lines) Set(mask, bits uint64) (err error) {
	if err := l.board.there(); err != nil {
		return err
	}
	l.board.bench.Exchange(l.board.now(), func() {
		for i := len(l.names) - 1; i >= 0 && err == nil; i-- { // the drop before the pulse
			if name := l.names[i]; mask>>i&1 == 1 {
				err = l.drive(name, bits>>i&1 == 1)
			}
		}
	})
	return err
}

func (l *lines) drive(name string, active bool) error {
	if name == EnableLine {
		l.board.bench.Source().SwitchOutput(active)
		return nil
	}
	return l.board.bench.SetCoil(coilOf(name), active != (name == DropLine))
}

// Edges tells of the movements of the lid's contacts: both, since nobody knows which.
func (l *lines) Edges(ctx context.Context, into []gpio.Edge) (int, error) {
	moved := l.board.bench.Interlock().(hal.Changer).Changed()
	select {
	case <-ctx.Done():
		return 0, ctx.Err()
	case <-l.board.pulled: // the kernel tells of a hang-up
		return 0, fmt.Errorf("%w: the chip hung up", hal.ErrGone)
	case <-moved:
	}
	now, err := l.Values()
	if err != nil {
		return 0, err
	}
	for i := range into[:2] {
		l.board.sequence++
		into[i] = gpio.Edge{Line: i, Active: now>>i&1 == 1, Sequence: l.board.sequence, At: l.board.now()}
	}
	return 2, nil
}
