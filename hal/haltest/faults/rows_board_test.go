package faults

import (
	"math"
	"time"

	"anodized/controller/fault"
	far "anodized/hal/haltest/stand"
)

// briefly tells for so long that something is so.
func briefly(d time.Duration) func() bool {
	over := time.Now().Add(d)
	return func() bool { return time.Now().Before(over) }
}

func pads(pad [9]byte) func(*rig) {
	return func(r *rig) { r.bath.Spoil(func([9]byte) [9]byte { return pad }) }
}

// boardRows are of chips on buses and lines.
var boardRows = []expected{
	{hand: "no acknowledge for 0.1 s", does: func(r *rig) { r.board.Mute(briefly(100 * time.Millisecond)) }, on: onBoard, outcome: complete},
	{hand: "no acknowledge any more", does: func(r *rig) { r.board.Mute(func() bool { return true }) }, on: onBoard,
		codes: codes(fault.SupplySilent), within: silent, shown: silent, outcome: tripped},
	{hand: "the bus is held low for 0.09 s", does: func(r *rig) { r.board.Late(90 * time.Millisecond) }, on: onBoard, outcome: complete},
	{hand: "the bus is held low", does: func(r *rig) { r.board.Hold(func() { <-r.released }) }, on: onBoard,
		codes: codes(fault.SupplySilent), within: silent, shown: silent, outcome: tripped},
	{hand: "the voltage monitor is at its upper end", does: func(r *rig) { r.board.Saturate(0, math.MaxInt16) }, on: onBoard,
		codes: codes(fault.SupplyTripped, fault.OverVoltage), within: 0.3, outcome: tripped},
	{hand: "the voltage monitor is at its lower end", does: func(r *rig) { r.board.Saturate(0, math.MinInt16) }, on: onBoard,
		codes: codes(fault.SupplyTripped, fault.OverVoltage, fault.SupplySilent), within: silent, outcome: tripped},
	{hand: "the current monitor is at its upper end", does: func(r *rig) { r.board.Saturate(1, math.MaxInt16) }, on: onBoard,
		codes: codes(fault.SupplySilent), within: silent, outcome: tripped},
	{hand: "the converter of the monitors has restarted", does: func(r *rig) { r.board.PowerUp() }, on: onBoard,
		codes: codes(fault.SupplySilent), within: silent, outcome: tripped},
	{hand: "the board has restarted", does: func(r *rig) { r.board.Restart() }, on: onBoard,
		codes: codes(fault.SupplyRestarted, fault.SupplyNotFollowing), within: asked, outcome: tripped},
	{hand: "the GPIO chip is gone", does: func(r *rig) { r.board.Unplug() }, on: onBoard, setup: chain,
		codes: codes(fault.InterlockOpen, fault.EmergencyStop), within: eachTick, deaf: true, outcome: tripped},
	{hand: "the chip says 85 degrees of power-up", does: pads(far.Scratchpad(0x0550, 0x0C)), on: onBoard, outcome: complete},
	{hand: "the chip says 127.94 degrees", does: pads(far.Scratchpad(0x07FF, 0x01)), on: onBoard, outcome: complete},
	{hand: "the chip says zeros", does: pads([9]byte{}), on: onBoard, outcome: complete},
	{hand: "the chip's check sum is wrong", does: pads([9]byte{0x72, 1, 0x4B, 0x46, 0x7F, 0xFF, 0x0E, 0x10, 0x58}), on: onBoard, outcome: complete},
	{hand: "the chip jumps by 60 degrees and back", does: func(r *rig) {
		once := true
		r.bath.Spoil(func(pad [9]byte) [9]byte {
			if once {
				once = false
				return far.Scratchpad(80*16, 16)
			}
			return pad
		})
	}, on: onBoard, outcome: complete},
}
