package front

import (
	"time"

	"anodized/hal/virtual"
	"anodized/hal/virtual/scpiserver"
)

// aloneTime is how long nobody was connected before a client counts as a new
// person at the bench, not as one who lost the line. In bench time.
const aloneTime = 5 * time.Second

// counter is the instrument and who is connected to it. It is touched inside
// the bench's exchange only.
type counter struct {
	instrument *scpiserver.Instrument
	clients    int
	emptySince time.Duration
}

func newCounter(bench *virtual.Bench, layout scpiserver.Layout) counter {
	return counter{instrument: scpiserver.New(bench.Source(), layout, 0)}
}

// supplyWire is the supply's end of the SCPI line.
type supplyWire Front

func (w *supplyWire) exchange(do func()) { w.bench.Exchange((*Front)(w).now(), do) }

// Connected counts a client, unless the supply is unplugged.
func (w *supplyWire) Connected() (welcome bool) {
	now := (*Front)(w).now()
	w.exchange(func() {
		if welcome = !w.bench.Gone(); !welcome {
			return
		}
		alone := w.counter.clients == 0 && now-w.counter.emptySince >= aloneTime
		w.counter.clients++
		w.bench.Arrived(alone)
	})
	return welcome
}

// Disconnected counts a client that went.
func (w *supplyWire) Disconnected() {
	now := (*Front)(w).now()
	w.exchange(func() {
		w.counter.clients--
		w.counter.emptySince = now
	})
}

// Line carries out one line, and does to the answer what the timetable says.
func (w *supplyWire) Line(line string) (reply scpiserver.Reply) {
	w.exchange(func() {
		if w.bench.Gone() {
			reply.Close = true
			return
		}
		answer := w.counter.instrument.Execute(line)
		if answer == "" {
			return
		}
		wire := w.bench.Wire()
		if wire.Silent {
			return
		}
		reply.Text = string(w.bench.Deliver([]byte(answer), []byte("\n")))
		reply.Delay = time.Duration(float64(wire.Late) / w.options.Speed)
	})
	return reply
}

// Overrun reports a line that was too long.
func (w *supplyWire) Overrun() scpiserver.Reply {
	w.exchange(w.counter.instrument.Overrun)
	return scpiserver.Reply{}
}
