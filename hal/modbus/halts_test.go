package modbus

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// chained is a supply and a contactor on one line, both on.
func chained(t *testing.T, framing Framing) (*Supply, *Contactor, *box) {
	b := newBox(framing)
	b.module = &module{}
	so := supplyOptions(t, b)
	supply, err := OpenSupply(t.Context(), so)
	require.NoError(t, err)
	co := contactorOptions(t, b, false)
	co.Line = so.Line
	contactor, err := NewContactor(co)
	require.NoError(t, err)
	require.NoError(t, contactor.Halt())
	require.NoError(t, contactor.Beat())
	_, err = supply.SetVoltage(t.Context(), 1)
	require.NoError(t, err)
	_, err = supply.SetCurrent(t.Context(), 1)
	require.NoError(t, err)
	require.NoError(t, supply.Energise(t.Context()))
	return supply, contactor, b
}

// TestTwoHaltsOnOneLineBothCome: neither cuts the other short, at whatever moment of it
// the second comes, on a line in step and on one in doubt.
func TestTwoHaltsOnOneLineBothCome(t *testing.T) {
	for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
		for _, doubt := range []bool{false, true} {
			for offset := time.Duration(0); offset <= 120*time.Millisecond; offset += 3 * time.Millisecond {
				t.Run(kind, func(t *testing.T) {
					synctest.Test(t, func(t *testing.T) { twoHalts(t, framing, doubt, offset) })
				})
			}
		}
	}
}

func twoHalts(t *testing.T, framing Framing, doubt bool, offset time.Duration) {
	supply, contactor, b := chained(t, framing)
	if doubt {
		for _, ask := range []func() error{contactor.Beat, func() error { _, err := supply.Measure(t.Context()); return err }} {
			b.do(func() { b.fault = func(*wire, []byte) {} })
			require.Error(t, ask(), "its answer was lost")
		}
	}
	done := make(chan error, 1)
	go func() { done <- supply.Halt(t.Context()) }()
	<-time.After(offset)
	require.NoError(t, contactor.Halt())
	require.NoError(t, <-done)
}

// TestASilentSupplyHoldsUpNoDrop: who waits for the supply's answer to off leaves the
// line to the contactor.
func TestASilentSupplyHoldsUpNoDrop(t *testing.T) {
	for framing, kind := range map[Framing]string{TCP: "TCP", RTU: "RTU"} {
		t.Run(kind, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				supply, contactor, b := chained(t, framing)
				b.do(func() { b.silentSupply = true })
				done := make(chan error, 1)
				go func() { done <- supply.Halt(t.Context()) }()
				<-time.After(10 * time.Millisecond)
				dropped := make(chan error, 1)
				go func() { dropped <- contactor.Halt() }()
				<-time.After(30 * time.Millisecond)
				b.do(func() { require.False(t, b.module.power()) })
				require.NoError(t, <-dropped, "and confirmed")
				require.ErrorIs(t, <-done, hal.ErrTimeout)
			})
		})
	}
}
