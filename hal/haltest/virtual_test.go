package haltest_test

import (
	"context"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal/bench"
	"anodized/hal/haltest"
	"anodized/hal/haltest/leak"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
	"anodized/profiles"
)

// TestMain gives the locks of these benches a folder of their own.
func TestMain(m *testing.M) {
	folder, err := os.MkdirTemp("", "anodized")
	if err == nil {
		err = os.Setenv("XDG_RUNTIME_DIR", folder)
	}
	if err != nil {
		panic(err)
	}
	status := leak.Main(m)
	if err := os.RemoveAll(folder); err != nil {
		panic(err)
	}
	os.Exit(status)
}

func setup() virtual.Setup {
	return virtual.Setup{Seed: 7, LostHost: 1, Parts: []virtual.Part{{Area: 20, Count: 4}}}
}

// drivers are the ways to the supply of a virtual bench, each through the driver that a
// bench file opens for it; the first is its supply in memory.
var drivers = []struct {
	name string
	rig  func(*testing.T) haltest.SupplyRig
}{
	{"in memory", memoryRig},
	{"SCPI, TCP", wired(func(*front.Options) {})},
	{"SCPI, serial", wired(func(o *front.Options) { o.SCPITerminal = true })},
	{"Modbus, TCP", wired(func(o *front.Options) { o.ModbusListen = "127.0.0.1:0" })},
	{"Modbus, RTU", wired(func(o *front.Options) { o.RTUTerminal = true })},
}

// TestSupplies holds every driver against the contract, and prints the table of drivers
// and tests (go test -v -run TestSupplies).
func TestSupplies(t *testing.T) {
	table := newTable(supplyWays()...)
	t.Run("drivers", func(t *testing.T) {
		for _, d := range drivers {
			t.Run(d.name, func(t *testing.T) {
				t.Parallel()
				haltest.Supply(t, haltest.SupplySuite{Open: d.rig, Tell: func(test, outcome string) { table.tell(test, d.name, outcome) }})
			})
		}
	})
	t.Log("\n" + table.String())
}

func supplyWays() (ways []string) {
	for _, d := range drivers {
		ways = append(ways, d.name)
	}
	return ways
}

func memoryRig(t *testing.T) haltest.SupplyRig {
	b, err := virtual.New(setup())
	require.NoError(t, err)
	advance := func(d time.Duration) { b.AdvanceTo(b.Now().Sub(virtual.Epoch) + d) }
	rig := supplyRig(t, b, advance)
	rig.Supply = b.Supply()
	rig.Hands[haltest.LateReply] = nil // its calls take no time
	rig.Hands[haltest.LostReply] = nil
	return rig
}

func wired(arrange func(*front.Options)) func(*testing.T) haltest.SupplyRig {
	return func(t *testing.T) haltest.SupplyRig {
		f, set, c := listen(t, arrange)
		rig := supplyRig(t, f.Bench(), func(d time.Duration) { f.Bench().AdvanceTo(c.move(d)) })
		rig.Supply = set.Supply
		if f.RTU()+f.SCPISerial() != "" {
			rig.Hands[haltest.Gone] = func() { require.NoError(t, f.PullCables()) }
		}
		return rig
	}
}

// supplyRig has the hands that the virtual bench's timetable of faults gives.
func supplyRig(t *testing.T, b *virtual.Bench, advance func(time.Duration)) haltest.SupplyRig {
	inject := func(f virtual.Fault) func() {
		return func() { require.NoError(t, b.Inject(f)); advance(time.Millisecond) }
	}
	return haltest.SupplyRig{
		Output: func() bool { return b.Truth().Output },
		Held: func() (volts, amperes float64) {
			state, err := b.Supply().Check(context.Background())
			require.NoError(t, err)
			return float64(state.SetVolts), float64(state.LimitAmperes)
		},
		Wait: advance,
		Hands: map[haltest.Fault]func(){
			haltest.LostReply:     inject(virtual.Fault{ID: "supply-silent", Answers: 1}),
			haltest.KnobTurned:    inject(virtual.Fault{ID: "panel-touched", Size: 3.21 - 5}),
			haltest.OutputTouched: func() { require.NoError(t, b.Supply().Halt(context.Background())) },
			haltest.LateReply:     inject(virtual.Fault{ID: "late-reply", Answers: 1, Size: late.Seconds()}),
			haltest.NotANumber:    inject(virtual.Fault{ID: "no-reading", For: 25 * tick}), // whatever a stalled line asks first
			haltest.Restart:       inject(virtual.Fault{ID: "supply-restarted"}),
			haltest.Trip:          inject(virtual.Fault{ID: "supply-tripped"}),
			haltest.Gone:          inject(virtual.Fault{ID: "supply-unplugged"}),
			haltest.Silence:       inject(virtual.Fault{ID: "supply-silent"}),
		},
	}
}

// A busy machine answers within busy time. What is late is later than that, and still
// within the second in which a link must be in step again.
const (
	busy = 500 * time.Millisecond
	late = 700 * time.Millisecond
)

// tick is how far the bench's clock moves with each line that it hears.
const tick = 20 * time.Millisecond

// clock moves with each look at it, so that faults strike a known line.
type clock struct {
	mu  sync.Mutex
	now time.Duration
}

func (c *clock) look() time.Duration {
	return c.move(tick)
}

func (c *clock) move(d time.Duration) time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now += d
	return c.now
}

// listen starts a virtual bench on sockets and opens it as a bench file would.
func listen(t *testing.T, arrange ...func(*front.Options)) (*front.Front, *bench.Set, *clock) {
	t.Helper()
	c := &clock{}
	options := front.Options{Setup: setup(), Elapsed: c.look, Baud: 115200}
	for _, change := range arrange {
		change(&options)
	}
	f, err := front.Listen(options)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- f.Serve(ctx) }()
	t.Cleanup(func() { cancel(); require.NoError(t, <-ended) })
	file, err := profiles.ReadBench("virtual.yaml", []byte(f.BenchFile()))
	require.NoError(t, err)
	file.Supply.Dialect.Timeout, file.Interlock.Timeout = busy, busy
	if file.Supply.Modbus != nil {
		file.Supply.Modbus.Timeout = busy
	}
	set, err := bench.Open(t.Context(), file, nil)
	require.NoError(t, err)
	require.True(t, set.Simulated)
	t.Cleanup(func() { _ = set.Close() }) // fails where the test has unplugged the supply
	return f, set, c
}

func interlockOver(arrange func(*front.Options)) func(*testing.T) haltest.InterlockRig {
	return func(t *testing.T) haltest.InterlockRig {
		f, set, c := listen(t, arrange)
		rig := interlockRig(t, f.Bench(), func(d time.Duration) { f.Bench().AdvanceTo(c.move(d)) })
		rig.Interlock = set.Interlock
		return rig
	}
}

// interlockRig forces each contact by a fault of its own; the last one counts.
func interlockRig(t *testing.T, b *virtual.Bench, advance func(time.Duration)) haltest.InterlockRig {
	force := func(part int, closed bool) {
		id := "interlock-disagrees" // the channel opens alone
		if closed {
			id = "interlock-stuck-closed"
		}
		require.NoError(t, b.Inject(virtual.Fault{ID: id, Part: part}))
	}
	return haltest.InterlockRig{
		Wait:     advance,
		Contacts: func(first, second bool) { force(1, first); force(2, second) },
	}
}

func thermometerInMemory(t *testing.T) haltest.ThermometerRig {
	b, err := virtual.New(setup())
	require.NoError(t, err)
	return haltest.ThermometerRig{
		Thermometer: b.Thermometer(), Bath: 20, Tolerance: 1, Settle: 2 * time.Second,
		Wait:  func(d time.Duration) { b.AdvanceTo(b.Now().Sub(virtual.Epoch) + d) },
		Break: func() { require.NoError(t, b.Inject(virtual.Fault{ID: "thermometer-silent"})) },
	}
}
