package process

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/hal/unit"
)

// TestAnAcknowledgementSaysWhatItLacks: a trip is not cleared while its cause stands, and
// what is in the way is told.
func TestAnAcknowledgementSaysWhatItLacks(t *testing.T) {
	for name, c := range map[string]struct {
		lacks Reasons
		after func(*tank) // in each tick, once the run has tripped and the lid was opened and closed
	}{
		"nothing":                            {0, func(*tank) {}},
		"the bath is hot":                    {BathOutside, func(k *tank) { k.in.Bath.Celsius = 46 }},
		"no bath is read":                    {BathUnread, func(k *tank) { k.in.Bath.OK = false }},
		"the cell is charged":                {VoltsNotZero, func(k *tank) { k.in.Reading.Volts = 6 }},
		"the output is on":                   {OutputNotOff, func(k *tank) { k.in.Held.Output = OutputOn }},
		"the supply's own trip stands":       {SupplyFault, func(k *tank) { k.in.Held.Tripped = true }},
		"the voltmeter shows a charged cell": {VoltsNotZero, func(k *tank) { k.in.Meter = Meter{OK: true, Volts: 6, At: k.in.Now} }},
		"the other way round as well":        {VoltsNotZero, func(k *tank) { k.in.Meter = Meter{OK: true, Volts: -6, At: k.in.Now} }},
		"the voltmeter shows a dead cell":    {0, func(k *tank) { k.in.Meter = Meter{OK: true, Volts: 4.9, At: k.in.Now} }},
	} {
		t.Run(name, func(t *testing.T) {
			k := newTank(load())
			metered := bench
			metered.Voltmeter = true
			k.loop = NewLoop(metered)
			k.loop.Load(load())
			celsius := unit.Celsius(20)
			k.before = func(k *tank) {
				k.in.Bath = Bath{Fitted: true, OK: true, Celsius: celsius, At: k.in.Now}
				k.in.Meter = Meter{OK: true, Volts: rounded(k.volts), At: k.in.Now}
			}
			k.start(t, Ramping)
			celsius = 46
			for range 20 {
				k.tick()
			}
			require.Equal(t, Tripped, k.out.State)
			require.Equal(t, fault.BathTooHot, k.out.Trip)
			celsius = 20
			assert.NotZero(t, k.out.Reasons&LidNotCycled, "the lid is wanted too")
			k.lidOpens, k.lidCloses = k.now+1, k.now+3
			cool := k.before
			k.before = func(k *tank) { cool(k); c.after(k) }
			for range 50 {
				k.tick()
			}
			k.in.Event = Acknowledge
			k.tick()
			assert.Equal(t, c.lacks, k.out.Reasons)
			assert.Equal(t, c.lacks != 0, k.out.State == Tripped, "%v", k.out.State)
		})
	}
}
