package stand

import (
	"context"
	"time"

	"anodized/hal/virtual"
	"anodized/hal/virtual/scpiserver"
)

// Meter is the independent voltmeter of a virtual bench as an instrument that speaks SCPI.
type Meter struct {
	bench      *virtual.Bench
	now        func() time.Duration
	instrument *scpiserver.Instrument
}

// NewMeter returns the meter of a bench that has one.
func NewMeter(bench *virtual.Bench, now func() time.Duration) *Meter {
	return &Meter{bench, now, scpiserver.New(cell{bench.Source(), bench}, scpiserver.Questionable, 0)}
}

// Serve answers whoever comes to a listener until the context ends.
func (m *Meter) Serve(ctx context.Context, room *Room) error { return scpiserver.Serve(ctx, room, m) }

// Connected welcomes everybody.
func (m *Meter) Connected() bool { return true }

// Disconnected has nothing to do.
func (m *Meter) Disconnected() {}

// Line carries out one line.
func (m *Meter) Line(line string) (reply scpiserver.Reply) {
	m.bench.Exchange(m.now(), func() {
		if answer := m.instrument.Execute(line); answer != "" {
			reply.Text = answer + "\n"
		}
	})
	return reply
}

// Overrun is a line that was too long.
func (m *Meter) Overrun() scpiserver.Reply { return scpiserver.Reply{} }

// cell is the volts across it in place of those of the supply.
type cell struct {
	scpiserver.Source
	bench *virtual.Bench
}

func (c cell) Measure() (volts, amperes float64) { return c.bench.MeterVolts(), 0 }
func (c cell) Identity() string                  { return "ANODIZED,SIMULATED METER,1,0" }

// On answers on a serial line until that is pulled.
func (m *Meter) On(ctx context.Context, line *End) error { return scpiserver.ServeLine(ctx, line, m) }
