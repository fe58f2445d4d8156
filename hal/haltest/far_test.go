package haltest_test

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal/haltest/stand"
	"anodized/hal/modbus"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
)

// far is a virtual bench on lines in memory, in a bubble of simulated time, with the real
// drivers at their other ends.
type far struct {
	t     *testing.T
	began time.Time
	front *front.Front
	bench *virtual.Bench
	ctx   context.Context
}

const (
	patience = 300 * time.Millisecond // of a driver, for one answer
	baud     = 115200
	rtuGap   = 1750 * time.Microsecond
)

func newFar(t *testing.T, start virtual.Setup) *far {
	t.Helper()
	f := &far{t: t, began: time.Now()}
	var err error
	f.front, err = front.Stand(front.Options{Setup: start, Elapsed: f.elapsed, Baud: baud})
	require.NoError(t, err)
	f.bench = f.front.Bench()
	var end context.CancelFunc
	f.ctx, end = context.WithCancel(context.Background())
	t.Cleanup(func() { end(); synctest.Wait() })
	return f
}

func (f *far) elapsed() time.Duration { return time.Since(f.began) }

// pass lets time pass, and what then runs run to its end.
func pass(d time.Duration) {
	<-time.After(d)
	synctest.Wait()
}

// now has the bench come to this moment.
func (f *far) now() { f.bench.Exchange(f.elapsed(), func() {}) }

// inject lets a fault happen at once.
func (f *far) inject(fault virtual.Fault) {
	f.now()
	require.NoError(f.t, f.bench.Inject(fault))
	f.now()
}

// serve runs a server for as long as the bench stands.
func (f *far) serve(do func(context.Context) error) {
	go func() {
		if err := do(f.ctx); err != nil {
			f.t.Errorf("the virtual bench: %v", err)
		}
	}()
}

func (f *far) room(serve func(context.Context, *stand.Room) error) *stand.Room {
	room := stand.NewRoom()
	f.serve(func(ctx context.Context) error { return serve(ctx, room) })
	return room
}

func (f *far) scpiRoom() *stand.Room {
	return f.room(func(ctx context.Context, room *stand.Room) error { return f.front.SCPIAt(ctx, room) })
}

func (f *far) modbusRoom() *stand.Room {
	return f.room(func(ctx context.Context, room *stand.Room) error { return f.front.ModbusAt(ctx, room) })
}

func (f *far) scpiLine() stand.Line {
	return func(end *stand.End) { f.told(f.front.SCPIOn(f.ctx, end)) }
}

func (f *far) rtuLine() stand.Line {
	return func(end *stand.End) { f.told(f.front.RTUOn(f.ctx, end)) }
}

func (f *far) told(err error) {
	if err != nil {
		f.t.Errorf("the virtual bench: %v", err)
	}
}

// bus is a Modbus line to the bench, and its plug.
func (f *far) bus(framing modbus.Framing) (*modbus.Line, *stand.Plug) {
	o := modbus.LineOptions{Framing: framing}
	var plug *stand.Plug
	if framing == modbus.TCP {
		plug = stand.NewPlug(f.modbusRoom(), stand.TCPTap())
	} else {
		plug, o.Gap = stand.NewPlug(f.rtuLine(), stand.RTUTap()), rtuGap
	}
	f.t.Cleanup(plug.Pull)
	o.Dial = func(ctx context.Context) (modbus.Transport, error) { return dialled(plug.Dial(ctx)) }
	line, err := modbus.NewLine(o)
	require.NoError(f.t, err)
	return line, plug
}

// dialled is nothing where there was an error, and no typed nothing.
func dialled(end *stand.End, err error) (modbus.Transport, error) {
	if err != nil {
		return nil, err
	}
	return end, nil
}

func (f *far) board() *stand.Board { return stand.NewBoard(f.bench, f.elapsed) }
