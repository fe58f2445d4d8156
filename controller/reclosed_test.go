package controller

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/hal"
	"anodized/hal/virtual"
)

// TestTripSaysForHowLongTheLidWasOpen: a contact that bounces is told from a person by it.
func TestTripSaysForHowLongTheLidWasOpen(t *testing.T) {
	for lasts, says := range map[time.Duration]string{
		100 * time.Microsecond: "Then: both channels closed again, open for 0.1 ms.",
		3 * time.Millisecond:   "Then: both channels closed again, open for 3 ms.",
		150 * time.Millisecond: "Then: both channels closed again, open for 150 ms.",
		time.Minute:            "", // longer than the load took to end: nobody knows yet
	} {
		t.Run(lasts.String(), func(t *testing.T) {
			s, _, _ := hung(t, 1, virtual.Fault{ID: "interlock-bounce", At: virtual.AtVolts(30), For: lasts})
			res := through(t, s, spacers())
			require.NotNil(t, res.Trip)
			require.Equal(t, fault.InterlockOpen, res.Trip.Code)
			if says == "" {
				assert.NotContains(t, res.Trip.Message, "Then:")
				assert.Len(t, res.Trip.Evidence, 1)
				return
			}
			assert.Contains(t, res.Trip.Message, says)
			assert.Len(t, res.Trip.Evidence, 2, "%v", res.Trip.Evidence)
			assert.Equal(t, res.Trip.Message, s.Snapshot().Trip.Message)
		})
	}
}

func TestOpeningThatEndedARun(t *testing.T) {
	const trip = fault.InterlockOpen
	closed, opens := [2]bool{true, true}, [2]bool{true, false}
	ms := func(first, second float64) [2]time.Duration {
		return [2]time.Duration{time.Duration(first * float64(time.Millisecond)), time.Duration(second * float64(time.Millisecond))}
	}
	type reading struct {
		lid   hal.Channels
		moved bool
		trip  fault.Code // as of the tick before
	}
	hung := reading{hal.Channels{Closed: closed, Opened: ms(2000, 2000)}, false, ""} // the rack, before the start
	for name, c := range map[string]struct {
		readings []reading
		says     string
	}{
		"channel 2, seen open": {[]reading{hung, {hal.Channels{Closed: opens, Opened: ms(2000, 0)}, true, ""},
			{hal.Channels{Closed: closed, Opened: ms(2000, 3)}, false, trip}}, "channel 2 closed again, open for 3 ms"},
		"both, not seen open": {[]reading{hung, {hal.Channels{Closed: closed, Opened: ms(0.25, 1.5)}, true, ""},
			{hal.Channels{Closed: closed, Opened: ms(0.25, 1.5)}, false, trip}}, "both channels closed again, open for 0.25 ms and 1.5 ms"},
		"channel 1, by a person": {[]reading{hung, {hal.Channels{Closed: closed, Opened: ms(1500, 2000)}, false, trip}},
			"channel 1 closed again, open for 1.5 s"},
		"what opens it later is another opening": {[]reading{hung, {hal.Channels{Closed: closed, Opened: ms(3, 2000)}, false, trip},
			{hal.Channels{Closed: closed, Opened: ms(5000, 5000)}, false, trip}}, "channel 1 closed again, open for 3 ms"},
		"nobody timed it":                 {[]reading{{hal.Channels{Closed: closed}, false, ""}, {hal.Channels{Closed: closed}, false, trip}}, ""},
		"it could not be read for a time": {[]reading{hung, {hung.lid, false, trip}}, ""},
		"still open":                      {[]reading{hung, {hal.Channels{Closed: opens, Opened: ms(3, 0)}, false, trip}}, ""},
		"another trip":                    {[]reading{hung, {hal.Channels{Closed: closed, Opened: ms(3, 3)}, false, fault.EmergencyStop}}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			var r reclosed
			for _, one := range c.readings {
				r.see(one.lid, one.moved, one.trip)
			}
			assert.Equal(t, c.says, r.words(c.readings[len(c.readings)-1].trip))
		})
	}
	assert.Empty(t, (&reclosed{opened: ms(3, 3)}).words(fault.EmergencyStop))
}
