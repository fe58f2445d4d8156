package commissioning

import (
	"context"
	"math"
	"sync"

	"anodized/controller/record"
	"anodized/hal/unit"
)

// meters asks for the second meter once a point, beside the owner of the supply, which
// never waits for it. With a simulated clock it asks at once: no person reads there.
type meters struct {
	ask  func(context.Context, unit.Volts) (unit.Volts, error)
	set  []unit.Volts
	once bool // ask in the owner's own turn
	stop func(error)

	ctx    context.Context
	cancel context.CancelFunc
	asking sync.WaitGroup

	mu    sync.Mutex
	ticks []int
	got   []unit.Volts
}

func newMeters(ask func(context.Context, unit.Volts) (unit.Volts, error), set []unit.Volts, once bool) *meters {
	m := &meters{ask: ask, set: set, once: once, ticks: make([]int, len(set)), got: make([]unit.Volts, len(set))}
	m.ctx, m.cancel = context.WithCancel(context.Background())
	for i := range m.got {
		m.got[i] = unit.Volts(math.NaN())
	}
	return m
}

// read is called by the owner in each tick of a hold: it waits for nobody.
func (m *meters) read(stage int) bool {
	m.mu.Lock()
	m.ticks[stage]++
	ticks, known := m.ticks[stage], !math.IsNaN(float64(m.got[stage]))
	m.mu.Unlock()
	switch {
	case ticks < settled:
		return false
	case m.ask == nil:
		return true
	case ticks == settled && m.once:
		m.one(stage)
	case ticks == settled:
		m.asking.Go(func() { m.one(stage) })
	}
	return known
}

func (m *meters) one(stage int) {
	v, err := m.ask(m.ctx, m.set[stage])
	if err != nil {
		m.stop(err)
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.got[stage] = v
}

// end gives up what is still asked.
func (m *meters) end() {
	m.cancel()
	m.asking.Wait()
}

func (m *meters) values() []unit.Volts {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([]unit.Volts(nil), m.got...)
}

// notebook keeps the rows of the test in memory. The intent that stands on the disk before
// a load is for a film that would be spoilt unseen; a resistor has none, and what the test
// shows goes into the bench file.
type notebook struct {
	mu   sync.Mutex
	rows []record.Row
}

func (n *notebook) Begin(context.Context, record.Intent) (string, error) { return "dummy-load", nil }

func (n *notebook) Append(row record.Row) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.rows = append(n.rows, row)
}

func (n *notebook) Note(record.Event) {}

func (n *notebook) Finish(context.Context, record.Result) error { return nil }

func (n *notebook) taken() []record.Row {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.rows
}
