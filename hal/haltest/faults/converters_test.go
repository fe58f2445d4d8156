package faults

import (
	"github.com/stretchr/testify/require"

	"anodized/hal/analog"
	"anodized/hal/gpio"
	far "anodized/hal/haltest/stand"
	"anodized/hal/onewire"
	"anodized/hal/probe"
)

// converters opens a bench whose supply stands behind converters on I2C, whose chain and
// lid switch are on GPIO lines, and whose thermometer is read by the kernel.
func (r *rig) converters() {
	r.board, r.bath = far.NewBoard(r.bench, r.elapsed), far.NewBath(r.bench, r.elapsed)
	lane := analog.NewLane("board")
	r.closing = append(r.closing, func() { r.board.Hold(nil); require.NoError(r.t, lane.Close()) })
	options, err := r.board.Supply(lane)
	require.NoError(r.t, err)
	options.Settle = settling
	r.devices.Supply, err = analog.Open(r.ctx, options)
	require.NoError(r.t, err)
	lid := gpio.NewInterlock(r.lines(gpio.InterlockRequest([2]string{far.LidA, far.LidB}, gpio.Wiring{})))
	r.serving.Go(func() { lid.Watch(r.ctx) })
	r.devices.Interlock = lid
	bath, err := onewire.NewKernel(r.bath, far.KernelChip)
	require.NoError(r.t, err)
	r.serving.Go(func() { bath.Watch(r.ctx) })
	r.devices.Thermometer = bath
	r.onLines(lane)
}

func (r *rig) lines(request gpio.Request) gpio.Lines {
	lines, err := r.board.Request(request)
	require.NoError(r.t, err)
	return lines
}

// onLines opens what a bench may have besides.
func (r *rig) onLines(lane *analog.Lane) {
	if r.setup.Chain {
		r.devices.Contactor = gpio.NewContactor(r.lines(gpio.ContactorRequest(gpio.ContactorWiring{Pulse: far.PulseLine, Drop: far.DropLine, Mirror: far.MirrorIn})))
		r.devices.EmergencyStop = gpio.NewEmergencyStop(r.lines(gpio.StopRequest([]string{far.StopA, far.StopB}, gpio.Wiring{})), 2)
	}
	if r.setup.Ventilation {
		r.devices.Ventilation = gpio.NewVentilation(r.lines(gpio.VentilationRequest(far.AirIn, gpio.Wiring{})))
	}
	if r.setup.Voltmeter {
		divider, err := r.board.Divider(lane)
		require.NoError(r.t, err)
		across, err := analog.OpenVoltmeter(r.ctx, divider)
		require.NoError(r.t, err)
		meter := probe.NewMeter(across.Read)
		r.serving.Go(func() { meter.Watch(r.ctx) })
		r.devices.Voltmeter = meter
	}
}
