package controller

import (
	"context"
	"math/rand/v2"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// chained is a virtual bench with contactor and emergency stop, and a Station on it.
func chained(tb testing.TB, seed uint64, faults ...virtual.Fault) (*Station, *virtual.Bench, *shelf) {
	tb.Helper()
	setup := virtual.Setup{Seed: seed, Faults: faults, Chain: true}
	for range 8 {
		setup.Parts = append(setup.Parts, virtual.Part{Area: 25})
	}
	bench, err := virtual.New(setup)
	require.NoError(tb, err)
	kept := &shelf{}
	s := New(Devices{Supply: bench.Supply(), Interlock: bench.Interlock(), Thermometer: bench.Thermometer(),
		Contactor: bench.Contactor(), EmergencyStop: bench.EmergencyStop(), Simulated: true},
		bench, kept, quiet(), Options{ClockWaits: true})
	return s, bench, kept
}

func TestWholeLoadBehindAContactor(t *testing.T) {
	s, bench, _ := chained(t, 1)
	res := through(t, s, straw())
	require.Equal(t, record.Complete, res.Outcome, "%+v", res)
	truth := bench.Truth()
	assert.False(t, truth.Powered || truth.ContactorClosed)
	assert.Less(t, truth.CellVolts, 5.0)
	assert.False(t, s.Snapshot().Contactor.Closed)
}

func TestFaultsOfTheChain(t *testing.T) {
	at := virtual.AfterOn(6)
	for id, c := range map[string]struct {
		fault virtual.Fault
		code  fault.Code
	}{
		"stop pressed":             {virtual.Fault{ID: "emergency-stop", At: at}, fault.EmergencyStop},
		"stop opens one contact":   {virtual.Fault{ID: "emergency-stop-one-contact", At: at}, fault.EmergencyStop},
		"stop cannot be read":      {virtual.Fault{ID: "emergency-stop-gone", At: at}, fault.EmergencyStop},
		"lid opened":               {virtual.Fault{ID: "interlock-open", At: at}, fault.InterlockOpen},
		"lid opened for 3 ms":      {virtual.Fault{ID: "interlock-open", At: virtual.AfterOn(6.05), For: 3 * time.Millisecond}, fault.InterlockOpen},
		"contactor cannot be read": {virtual.Fault{ID: "contactor-gone", At: at, For: time.Second}, fault.ContactorStuck},
		"welded before a good end": {virtual.Fault{ID: "contactor-welded", At: at}, fault.ContactorStuck},
	} {
		t.Run(id, func(t *testing.T) {
			s, bench, _ := chained(t, 3, c.fault)
			res := through(t, s, straw())
			require.Equal(t, record.Tripped, res.Outcome, "%+v", res)
			assert.Equal(t, c.code, res.Trip.Code)
			assert.NotEmpty(t, res.Trip.Evidence)
			truth := bench.Truth()
			assert.False(t, truth.Powered || truth.Live)
			assert.False(t, s.Snapshot().SafeToOpen.Proven && truth.CellVolts > 5)
		})
	}
}

func TestChainThatRefusesAStart(t *testing.T) {
	for id, reason := range map[string]string{
		"contactor-stuck-open": "not where it was sent", "contactor-gone": "", "emergency-stop-one-contact": "emergency stop is pressed",
	} {
		s, bench, _ := chained(t, 3, virtual.Fault{ID: id})
		if id == "contactor-gone" {
			require.ErrorIs(t, s.Run(t.Context()), hal.ErrGone, "a contactor that cannot be dropped at the start ends it there")
			continue
		}
		res := through(t, s, straw())
		require.Equal(t, record.Refused, res.Outcome, id)
		assert.Contains(t, res.Reasons[0], reason)
		assert.False(t, bench.Truth().Energised, "%s: the output was never on", id)
	}
}

// A lid opened at random moments: the cell is dead by the end of the tick that sees it,
// and the record names the lid and not what followed from it.
func TestLidBehindAContactorAtRandomMoments(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	tripped := 0
	for range 300 {
		moment := unit.Seconds(random.Float64() * 7)
		length := time.Duration(random.ExpFloat64() * 100 * float64(time.Millisecond))
		f := virtual.Fault{ID: "interlock-open", At: virtual.AfterOn(moment), For: max(length, time.Millisecond)}
		s, bench, _ := chained(t, random.Uint64(), f)
		res := through(t, s, straw())
		require.False(t, bench.Truth().Live)
		if res.Outcome == record.Tripped {
			tripped++
			require.Equal(t, fault.InterlockOpen, res.Trip.Code, "at %.3f s for %v", moment, length)
		}
	}
	assert.Greater(t, tripped, 200)
}

// bell is a lid switch that calls, and a contactor that keeps when it was dropped.
type bell struct {
	*wire
	rings   chan struct{}
	dropped chan time.Time
	beats   chan struct{} // one a beat, where somebody listens
}

func (b *bell) Changed() <-chan struct{} { return b.rings }

func (b *bell) Beat() error {
	select {
	case b.beats <- struct{}{}:
	default:
	}
	return nil
}

func (b *bell) Halt() error {
	select {
	case b.dropped <- time.Now():
	default:
	}
	return nil
}

func (b *bell) Closed(context.Context) (bool, error) { return true, nil }

// belled is a Station whose core wants the output on for ever and whose supply hangs
// in every measurement, so that the owner nearly always waits.
func belled(pace Pacer) (*stand, *bell) {
	s := newStand(0, Options{})
	b := &bell{wire: s.wire, rings: make(chan struct{}, 1), dropped: make(chan time.Time, 1), beats: make(chan struct{})}
	s.devices.Interlock, s.devices.Contactor = b, b
	s.enable.contactor, s.lidMoves, s.pacer = b, b.rings, pace
	s.core.decide = func(*process.Input) process.Command { return on(process.Holding, 5, 1) }
	s.wire.now = time.Now
	return s, b
}

// open rings and returns how long the drop took.
func (b *bell) open() time.Duration {
	select {
	case <-b.dropped:
	default:
	}
	began := time.Now()
	b.rings <- struct{}{}
	select {
	case at := <-b.dropped:
		return at.Sub(began)
	case <-time.After(10 * time.Second):
		return time.Since(began)
	}
}

// Ten thousand openings at random moments, with an exchange that hangs nearly all the
// time. In the simulated time of a bubble what waits for the owner, a lock, a tick or an
// answer shows as time; what runs at once shows as none.
func TestLidDropsTheContactorAtOnceWhileAnExchangeHangs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(t, err)
		s, b := belled(ticker)
		s.wire.hang["measure"] = true
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error)
		go func() { ended <- s.Run(ctx) }()
		random := rand.New(rand.NewPCG(5, 6))
		longest := time.Duration(0)
		for range 10_000 {
			<-time.After(time.Duration(random.Int64N(int64(250 * time.Millisecond))))
			longest = max(longest, b.open())
			if longest > time.Second {
				break
			}
		}
		cancel()
		require.NoError(t, <-ended)
		assert.Zero(t, longest, "the drop waited for something")
		assert.LessOrEqual(t, longest, 20*time.Millisecond)
	})
}

// After an opening no pulse comes before the owner has looked again, and then it is
// told that the lid moved, however short it was.
func TestTickThatALidMovedInGivesNoPulse(t *testing.T) {
	s := newStand(3, Options{}, on(process.Holding, 5, 1))
	b := &bell{wire: s.wire, rings: make(chan struct{}, 1), dropped: make(chan time.Time, 1), beats: make(chan struct{}, 3)}
	s.devices.Contactor, s.enable.contactor = b, b
	s.core.decide = func(in *process.Input) process.Command {
		if len(s.core.inputs) == 2 {
			s.jolt() // between the reading of the lid and the end of the tick
		}
		return on(process.Holding, 5, 1)
	}
	require.ErrorIs(t, s.Run(t.Context()), errEnough)
	assert.Len(t, b.beats, 1, "the first tick alone")
	assert.Equal(t, []bool{false, false, true}, []bool{s.core.inputs[0].Interlock.Moved, s.core.inputs[1].Interlock.Moved, s.core.inputs[2].Interlock.Moved})
}

func TestNoPulseWithoutALiveLidAndAReleasedStop(t *testing.T) {
	for name, spoil := range map[string]func(*stand){
		"lid open":       func(s *stand) { s.wire.lid[1] = false },
		"lid unreadable": func(s *stand) { s.wire.fail["lid"] = hal.ErrTimeout },
		"stop pressed":   func(s *stand) { s.devices.EmergencyStop = saying{closed: [2]bool{true, false}} },
		"stop gone":      func(s *stand) { s.devices.EmergencyStop = saying{err: hal.ErrGone} },
	} {
		s, _ := withContactor(3)
		s.core.commands = []process.Command{on(process.Holding, 5, 1)}
		spoil(s)
		require.ErrorIs(t, s.Run(t.Context()), errEnough)
		assert.Zero(t, count(s.wire.lines(), "beat"), name)
	}
}

// saying is an emergency stop that says one thing.
type saying struct {
	closed [2]bool
	err    error
}

func (h saying) Contacts(context.Context) (hal.Channels, error) {
	return hal.Channels{Closed: h.closed}, h.err
}

func TestTripDropsTheContactorBeforeTheSupplyAndAGoodEndAfter(t *testing.T) {
	for name, c := range map[string]struct {
		end  process.Command
		want []string
	}{
		"trip":     {off(process.Discharging, 1), []string{"drop", "off"}},
		"good end": {process.Command{State: process.Discharging, Limit: 1, Close: true}, []string{"off", "beat"}},
	} {
		s, _ := withContactor(6)
		s.core.decide = func(*process.Input) process.Command {
			if len(s.core.inputs) == 6 {
				return c.end
			}
			return on(process.Holding, 5, 1)
		}
		require.ErrorIs(t, s.Run(t.Context()), errEnough)
		lines := only(s.wire.lines())
		last := lines[:len(lines)-2] // the off of the end of the Station
		var ends []string
		for _, line := range last[len(last)-4:] {
			if line == "drop" || line == "off" || line == "beat" {
				ends = append(ends, line)
			}
		}
		assert.Equal(t, c.want, ends[len(ends)-2:], "%s: %v", name, last)
	}
}

// light is a beacon that keeps what it showed.
type light struct {
	shown []hal.Signal
	err   error
}

func (l *light) Show(s hal.Signal) error { l.shown = append(l.shown, s); return l.err }
func (l *light) Halt() error             { return nil }

func TestBeaconShowsTheRoomWhatHappens(t *testing.T) {
	s, bench, _ := chained(t, 1)
	lamp := &light{}
	s.devices.Beacon = lamp
	through(t, s, straw())
	assert.Equal(t, []hal.Signal{hal.SignalReady, hal.SignalEnergised, hal.SignalFinished}, lamp.shown)
	assert.False(t, bench.Truth().Live)

	s, _, _ = chained(t, 1, virtual.Fault{ID: "emergency-stop", At: virtual.AfterOn(5)})
	lamp = &light{err: hal.ErrGone}
	s.devices.Beacon = lamp
	through(t, s, straw())
	assert.Equal(t, hal.SignalTrip, lamp.shown[len(lamp.shown)-1], "what is not taken is tried again, and changes nothing else")
	assert.Positive(t, s.Snapshot().Loop.Errors.Beacon)
}
