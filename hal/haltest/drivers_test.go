package haltest_test

import (
	"testing"
	"testing/synctest"

	"anodized/hal/haltest"
	"anodized/hal/modbus"
)

// driver is a way to a device through its driver.
type driver[R any] struct {
	name   string
	open   func(*testing.T) R
	cannot []reason // what its device cannot be put to
}

// The words of what cannot be, for more than one driver.
const (
	noLine  = "its calls are no exchange: there is no answer that could be late, lost or spoilt"
	noPanel = "its program inputs have no knob, and no words to refuse or to queue"
	asLevel = "a level is read by one call of the kernel, without question and answer"
)

var supplies = []driver[haltest.SupplyRig]{
	{"in memory", supplyInMemory, []reason{
		{"GarbageIsNoReading HaltOnDirtyLink LateReplyAnswersNothing LostReply CutMidReply GarbageReply GarbageBefore ExtraReply SplitReply CancelIsDirty DirtyNeedsLimitsAgain", noLine},
		{"OpensHalted StrangerIsNotDriven RefusalCarriesCode", "it is not opened by lines that could be heard, refused or answered by another"}}},
	{"SCPI, TCP", supplySCPI, nil},
	{"SCPI, serial", supplySerial, nil},
	{"SCPI, USB", supplyUSB, nil},
	{"Modbus, TCP", supplyOver(modbus.TCP), []reason{{"QueueOverflow", "Modbus has no queue of errors"}}},
	{"Modbus, RTU", supplyOver(modbus.RTU), []reason{{"QueueOverflow", "Modbus has no queue of errors"}}},
	{"analogue, I2C", supplyAnalogue, []reason{
		{"RefusalCarriesCode QueueOverflow PanelChangeSeen KnobIsNotOverwritten TripSeen", noPanel},
		{"OpensHalted StrangerIsNotDriven", "a chip has no lines of text, and no name of its own"},
		{"LostReply CutMidReply GarbageBefore ExtraReply SplitReply DirtyNeedsLimitsAgain", "the computer clocks every bit of an I2C answer: none comes by itself"}}},
}

// TestEveryDriver holds every driver against the contract of its device, over the virtual
// bench and in simulated time, and prints a table of each:
//
//	go test -v -run TestEveryDriver ./hal/haltest
func TestEveryDriver(t *testing.T) {
	t.Run("supply", func(t *testing.T) {
		every(t, supplies, func(t *testing.T, open func(*testing.T) haltest.SupplyRig, tell func(test, outcome string)) {
			haltest.Supply(t, haltest.SupplySuite{Run: synctest.Test, Open: open, Tell: tell})
		})
	})
}

// every runs a suite over all drivers of a device.
func every[R any](t *testing.T, drivers []driver[R], suite func(*testing.T, func(*testing.T) R, func(test, outcome string))) {
	var names []string
	for _, d := range drivers {
		names = append(names, d.name)
	}
	told := newTable(names...)
	t.Run("drivers", func(t *testing.T) {
		for _, d := range drivers {
			told.reasons[d.name] = d.cannot
			t.Run(d.name, func(t *testing.T) {
				t.Parallel()
				suite(t, d.open, told.of(d.name))
			})
		}
	})
	t.Log("\n" + told.String())
	told.excuse(t)
}
