package modbus

import (
	"sync"
	"testing"

	peer "github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// shelf serves the example map through a library that was not written here. It knows
// neither function 08 nor 43.
type shelf struct {
	inputs
	holding [3]uint16
}

func (s *shelf) HandleHoldingRegisters(r *peer.HoldingRegistersRequest) ([]uint16, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	first, last := int(r.Addr), int(r.Addr)+int(r.Quantity)
	switch {
	case last > len(s.holding):
		return nil, peer.ErrIllegalDataAddress
	case r.IsWrite && first == 0 && r.Args[0] > 12000:
		return nil, peer.ErrIllegalDataValue
	case r.IsWrite:
		copy(s.holding[first:last], r.Args)
	}
	return append([]uint16(nil), s.holding[first:last]...), nil
}

func (s *shelf) HandleInputRegisters(r *peer.InputRegistersRequest) ([]uint16, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	all := []uint16{0, 0, 0, 0, 0}
	if s.holding[2] == 1 {
		all = []uint16{0x0001, 0x74A6, 0x0000, 0x05FC, 0x0101}
	}
	first, last := int(r.Addr)-0x100, int(r.Addr)-0x100+int(r.Quantity)
	if first < 0 || last > len(all) {
		return nil, peer.ErrIllegalDataAddress
	}
	return all[first:last], nil
}

// TestSupplyOnAnIndependentServer drives the example map behind somebody else's server.
func TestSupplyOnAnIndependentServer(t *testing.T) {
	registers := &shelf{inputs: inputs{mu: sync.Mutex{}}, holding: [3]uint16{1250, 100, 1}}
	address := serve(t, registers)
	line, err := NewLine(LineOptions{Dial: dialer(t, address)})
	require.NoError(t, err)
	supply, err := OpenSupply(t.Context(), SupplyOptions{Line: line, Unit: 1, Timeout: patience, Map: exampleMap(),
		Identification: true, HighestVolts: 120, HighestAmperes: 5, MainsReturn: "halted"})
	require.NoError(t, err)
	require.Equal(t, [3]uint16{}, registers.holding, "it was on, and is off with nothing set")
	volts, err := supply.SetVoltage(t.Context(), 95.409)
	require.NoError(t, err)
	require.InDelta(t, 95.4, float64(volts), 1e-9)
	_, err = supply.SetCurrent(t.Context(), 5)
	require.NoError(t, err)
	require.NoError(t, supply.Energise(t.Context()))
	require.Equal(t, [3]uint16{0x2544, 0x01F4, 1}, registers.holding)
	sample, err := supply.Measure(t.Context())
	require.NoError(t, err)
	require.InDelta(t, 95.398, float64(sample.Volts), 1e-9)
	require.InDelta(t, 0.1532, float64(sample.Amperes), 1e-9)
	require.Equal(t, hal.ModeConstantVoltage, sample.Mode)
	require.NoError(t, supply.Halt(t.Context()))
	require.Zero(t, registers.holding[2])
}
