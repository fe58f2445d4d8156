package rtd

import (
	"context"
	"errors"
	"math"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3"
	"periph.io/x/conn/v3/conntest"
	"periph.io/x/conn/v3/physic"
	"periph.io/x/conn/v3/spi"
	"periph.io/x/conn/v3/spi/spitest"
	"pgregory.net/rapid"

	"anodized/hal"
	"anodized/hal/haltest"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
)

// TestCurve: resistances of a PT100 by the formula of IEC 60751, computed
// independently (a few lines of Python).
func TestCurve(t *testing.T) {
	for resistance, want := range map[float64]float64{100: 0, 109.7347: 25, 138.5055: 100, 80.3063: -50, 60.2558: -100, 18.5201: -200} {
		require.InDelta(t, want, float64(Celsius(resistance, 100)), 2e-3)
		require.InDelta(t, want, float64(Celsius(10*resistance, 1000)), 2e-3)
	}
	for _, resistance := range []float64{0, -1, 1e6, math.NaN()} {
		require.True(t, math.IsNaN(float64(Celsius(resistance, 100))), "%v", resistance)
	}
}

func TestCurveThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		celsius := rapid.Float64Range(-200, 600).Draw(t, "celsius")
		require.InDelta(t, celsius, float64(Celsius(ohms(celsius, 100), 100)), 1e-6)
	})
}

func pt100(t testing.TB, port conn.Conn, wires int) *Thermometer {
	t.Helper()
	thermometer, err := New(Options{Port: port, Zero: 100, Reference: 430, Wires: wires})
	require.NoError(t, err)
	return thermometer
}

type nowhere struct{ conn.Conn }

// registersAt are the registers after a good conversion with this ratio.
func (t *Thermometer) registersAt(ratio uint16) [8]byte {
	return [8]byte{t.config(bias), byte(ratio >> 8), byte(ratio), byte(t.high >> 8), byte(t.high), byte(t.low >> 8), byte(t.low), 0}
}

// TestDecode: PT100 and 430 Ω, codes truncated, computed independently.
func TestDecode(t *testing.T) {
	thermometer := pt100(t, nowhere{}, 4)
	for ratio, want := range map[uint16]float64{0x3B88: 0, 0x4154: 25, 0x5274: 100} {
		value, err := thermometer.decode(thermometer.registersAt(ratio))
		require.NoError(t, err)
		require.InDelta(t, want, float64(value), 0.04, "a code is 0.034 °C")
	}
	// The data sheet's examples: a ratio of 1/8 is 2000h, 203.11 Ω at 400 Ω is 81FEh.
	require.InDelta(t, 4096.0/32768, float64(uint16(0x2000)>>1)/(1<<15), 0)
	require.InDelta(t, 203.11, float64(uint16(0x81FE)>>1)*400/(1<<15), 0.01)
}

func TestWhatIsNoReading(t *testing.T) {
	thermometer := pt100(t, nowhere{}, 2)
	good := thermometer.registersAt(0x4154)
	spoilt := func(at int, value byte) [8]byte { r := good; r[at] = value; return r }
	for why, r := range map[string][8]byte{
		"it restarted, or it is not there":   {},
		"does not hold what was written":     {0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF},
		"it does not hold":                   spoilt(0, 0),
		"not hold what":                      spoilt(3, 0xFF),
		"above the high threshold":           spoilt(7, 0x80),
		"below the low threshold":            spoilt(7, 0x40),
		"REFIN- is above":                    spoilt(7, 0x20),
		"REFIN- is below":                    spoilt(7, 0x10),
		"RTDIN- is below":                    spoilt(7, 0x08),
		"above or below the supply":          spoilt(7, 0x04),
		"a fault without a name":             spoilt(2, 0x55),
		"end of the range: a lead is open o": thermometer.registersAt(0),
		"a ratio at the end of the range":    thermometer.registersAt(0xFFFE),
		"outside -50 to 150":                 thermometer.registersAt(0x7000),
	} {
		value, err := thermometer.decode(r)
		require.ErrorIs(t, err, hal.ErrNoReading)
		require.ErrorContains(t, err, why)
		require.Zero(t, value)
	}
}

// sequenceOf is the recorded traffic of one reading of a three-wire PT100.
func sequenceOf(r [8]byte) []conntest.IO {
	write := func(bytes ...byte) conntest.IO { return conntest.IO{W: bytes, R: make([]byte, len(bytes))} }
	read := func(r [8]byte) conntest.IO { return conntest.IO{W: make([]byte, 9), R: append([]byte{0}, r[:]...)} }
	between := r
	between[0] = 0x91
	return []conntest.IO{
		write(0x83, r[3], r[4], r[5], r[6]), write(0x80, 0x93), write(0x80, 0x95), read(between),
		write(0x80, 0xB1), read(r), write(0x80, 0x11),
	}
}

func recorded(t *testing.T, sequences ...[]conntest.IO) (spi.Conn, *spitest.Playback) {
	t.Helper()
	port := &spitest.Playback{Playback: conntest.Playback{DontPanic: true}}
	for _, s := range sequences {
		port.Ops = append(port.Ops, s...)
	}
	connection, err := port.Connect(physic.MegaHertz, spi.Mode1, 8)
	require.NoError(t, err)
	return connection, port
}

// TestSequence: the bytes of one reading, 25 °C, each recorded exchange once.
func TestSequence(t *testing.T) {
	r := pt100(t, nowhere{}, 3).registersAt(0x4154)
	connection, port := recorded(t, sequenceOf(r))
	synctest.Test(t, func(t *testing.T) {
		began := time.Now()
		value, err := pt100(t, connection, 3).read(t.Context())
		require.NoError(t, err)
		require.InDelta(t, 25, float64(value), 0.04)
		require.Less(t, time.Since(began), 200*time.Millisecond)
	})
	require.NoError(t, port.Close())
}

func TestASearchThatDoesNotEndIsNoReading(t *testing.T) {
	r := pt100(t, nowhere{}, 3).registersAt(0x4154)
	ops := sequenceOf(r)
	ops[3].R[1] |= search
	connection, port := recorded(t, append(ops[:4], ops[6])) // bias goes off all the same
	synctest.Test(t, func(t *testing.T) {
		_, err := pt100(t, connection, 3).read(t.Context())
		require.ErrorContains(t, err, "does not end")
	})
	require.NoError(t, port.Close())
}

func TestWrongOptions(t *testing.T) {
	for why, o := range map[string]Options{
		"no port":            {Zero: 100, Reference: 430, Wires: 2},
		"must be above 0":    {Port: nowhere{}, Reference: 430, Wires: 2},
		"5 wires":            {Port: nowhere{}, Zero: 100, Reference: 430, Wires: 5},
		"cannot show 150 °C": {Port: nowhere{}, Zero: 1000, Reference: 430, Wires: 2},
	} {
		_, err := New(o)
		require.ErrorContains(t, err, why)
	}
}

// converter is a converter in memory: it remembers what is written, and converts.
type converter struct {
	conn.Conn
	mu    sync.Mutex
	r     [8]byte
	ratio uint16
	dead  bool
}

func (c *converter) do(change func()) {
	c.mu.Lock()
	defer c.mu.Unlock()
	change()
}

func (c *converter) Tx(w, r []byte) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case c.dead:
		return errors.New("no such device")
	case w[0]&writing == 0:
		copy(r[1:], c.r[:])
		return nil
	}
	copy(c.r[w[0]&^writing:], w[1:])
	if c.r[0]&convert != 0 {
		c.r[1], c.r[2] = byte(c.ratio>>8), byte(c.ratio)
	}
	c.r[0] &^= convert | clearFault | searching
	return nil
}

func TestConformance(t *testing.T) {
	haltest.Thermometer(t, haltest.ThermometerSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.ThermometerRig {
		c := &converter{}
		thermometer := pt100(t, c, 4)
		c.ratio = thermometer.register(22)
		ctx, cancel := context.WithCancel(t.Context())
		t.Cleanup(cancel)
		go thermometer.Watch(ctx)
		return haltest.ThermometerRig{
			Thermometer: thermometer, Bath: 22, Tolerance: 0.05, Settle: 200 * time.Millisecond,
			Wait:    func(d time.Duration) { <-time.After(d); synctest.Wait() },
			Break:   func() { c.do(func() { c.dead = true }) },
			SetBath: func(celsius unit.Celsius) { c.do(func() { c.ratio = thermometer.register(float64(celsius)) }) },
		}
	}})
}

// FuzzDecode: what is taken is a temperature of the range.
func FuzzDecode(f *testing.F) {
	thermometer := pt100(f, nowhere{}, 3)
	good := thermometer.registersAt(0x4154)
	f.Add(good[:])
	f.Add(make([]byte, 8))
	f.Fuzz(func(t *testing.T, bytes []byte) {
		r := good
		copy(r[:], bytes)
		value, err := thermometer.decode(r)
		if err == nil {
			require.GreaterOrEqual(t, float64(value), float64(coldest))
			require.LessOrEqual(t, float64(value), float64(hottest))
			require.Zero(t, r[7])
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	thermometer := pt100(b, nowhere{}, 3)
	r := thermometer.registersAt(0x4154)
	for b.Loop() {
		if _, err := thermometer.decode(r); err != nil {
			b.Fatal(err)
		}
	}
}
