package controller

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/hal"
)

// deaf does not answer an off, and looks at what the page shows while it is waited for.
type deaf struct {
	*wire
	station *Station
	shown   []fault.Code
	version uint64
}

func (d *deaf) Halt(context.Context) error {
	if trip := d.station.Snapshot().Trip; trip != nil {
		d.shown, d.version = append(d.shown, trip.Code), d.station.Snapshot().Version
	}
	return hal.ErrTimeout
}

// A trip is seen while its off still waits for a supply that does not confirm it.
func TestTripIsShownWhileItsOffIsWaitedFor(t *testing.T) {
	trip := process.Command{State: process.Discharging, Trip: fault.SupplySilent}
	s := newStand(2, Options{}, on(process.Holding, 5, 1), trip)
	supply := &deaf{wire: s.wire, station: s.Station}
	s.devices.Supply = supply
	at := time.Unix(0, 0)
	for n := range 2 {
		s.tick(t.Context(), at.Add(time.Duration(n)*100*time.Millisecond))
	}
	require.NotEmpty(t, supply.shown)
	assert.Equal(t, fault.SupplySilent, supply.shown[0])
	assert.Greater(t, s.Snapshot().Version, supply.version, "the end of the tick is another snapshot")
}
