package controller

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

func TestAJumpOfTheThermometerIsNoReading(t *testing.T) {
	w := newOwner().warmth
	for _, c := range []struct {
		celsius   unit.Celsius
		at        unit.Seconds
		energised bool
		want      bool
	}{
		{20, 0, false, true}, {85, 1, false, false}, {20.1, 2, false, true}, // a power-on value
		{85, 3, true, false}, {85, 100, true, false}, {20.2, 101, true, true}, // in a run it stays none
		{24, 102, true, true}, {28, 103, true, true}, // steep, but no jump
		{40, 200, false, false}, {40, 209, false, false}, {40, 210, false, true}, // another bath
	} {
		assert.Equal(t, c.want, w.believes(c.celsius, c.at, c.energised), "%+v", c)
	}
}

// A thermometer that shows 85 °C or 127.94 °C from one reading to the next is broken:
// the load goes on, and nobody is shown that number.
func TestAStuckThermometerEndsNoLoad(t *testing.T) {
	for _, celsius := range []float64{85, 127.94, -127} {
		s, _, kept := hung(t, 3, virtual.Fault{ID: "thermometer-stuck", At: virtual.AtVolts(9), Size: celsius})
		res := through(t, s, straw())
		assert.Equal(t, record.Complete, res.Outcome, "%+v", res.Trip)
		for _, row := range kept.rows {
			assert.False(t, row.Bath > 45 || row.Bath < 0, "%v", row.Bath)
		}
	}
}

// A thermometer that falls silent in the tick that switches on is told of after a minute, as
// one that falls silent later is; a bench that has none has nothing to tell.
func TestAThermometerThatIsNeverReadInALoadIsTold(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Station, *virtual.Bench)
		want   int
	}{
		"silent from the first tick": {func(s *Station, bench *virtual.Bench) {
			s.pacer = before{s.pacer, func() {
				if s.Snapshot().State == process.ContactCheck.String() && s.Snapshot().T == 0 {
					require.NoError(t, bench.Inject(virtual.Fault{ID: "thermometer-silent"}))
				}
			}}
		}, 1},
		"none":     {func(s *Station, _ *virtual.Bench) { s.devices.Thermometer = nil }, 0},
		"in order": {func(*Station, *virtual.Bench) {}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			s, bench, _ := hung(t, 3)
			c.change(s, bench)
			res := through(t, s, spacers())
			assert.Equal(t, record.Complete, res.Outcome)
			told := 0
			for _, f := range res.Findings {
				if f.Code == fault.BathTemperatureUnknown {
					told++
					assert.InDelta(t, 60, f.AtSeconds, 0.3)
				}
			}
			assert.Equal(t, c.want, told)
		})
	}
}

// before does something before each tick.
type before struct {
	Pacer
	do func()
}

func (b before) Next(ctx context.Context) (time.Time, error) {
	b.do()
	return b.Pacer.Next(ctx)
}
