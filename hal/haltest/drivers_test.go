package haltest_test

import (
	"testing"
	"testing/synctest"

	"anodized/hal"
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
	{"Modbus, TCP", supplyOver(modbus.TCP), []reason{{"QueueOverflow", "Modbus has no queue of errors"}, untimed}},
	{"Modbus, RTU", supplyOver(modbus.RTU), []reason{{"QueueOverflow", "Modbus has no queue of errors"}, untimed}},
	{"analogue, I2C", supplyAnalogue, []reason{
		{"RefusalCarriesCode QueueOverflow PanelChangeSeen KnobIsNotOverwritten", noPanel},
		{"OpensHalted StrangerIsNotDriven", "a chip has no lines of text, and no name of its own"},
		{"LostReply CutMidReply GarbageBefore ExtraReply SplitReply DirtyNeedsLimitsAgain", "the computer clocks every bit of an I2C answer: none comes by itself, none is outstanding after an error"}, untimed}},
}

var untimed = reason{"LostHostTimerFires LostHostTimerStaysWhileOn", "only of a supply that speaks SCPI the program arms a lost-host timer"}

// The ways to a remote module, to lines, and to what a virtual bench has in memory.
const (
	inMemory  = "in memory"
	onLines   = "GPIO"
	moduleTCP = "Modbus, TCP"
	moduleRTU = "Modbus, RTU"
)

var interlocks = []driver[haltest.InterlockRig]{
	{inMemory, lidInMemory, []reason{{"SilenceIsError RefusalIsError GarbageIsError LateReplyIsNeverUsed RecoversFromALostReply", noLine}}},
	{onLines, lidOnLines, []reason{{"SilenceIsError RefusalIsError GarbageIsError LateReplyIsNeverUsed RecoversFromALostReply", asLevel}}},
	{moduleTCP, lidOver(modbus.TCP), []reason{{calls, neverCalls}}},
	{moduleRTU, lidOver(modbus.RTU), []reason{{calls, neverCalls}}},
}

const (
	calls      = "EveryMovementIsTold TellingCoalesces RestIsSilent ShortPulseIsTold"
	neverCalls = "a Modbus module answers and never calls: the level is read in each tick"
)

var stops = []driver[haltest.StopRig]{
	{inMemory, stopInMemory, nil}, {onLines, stopOnLines, nil}, {moduleTCP, stopFarOver(modbus.TCP), nil}, {moduleRTU, stopFarOver(modbus.RTU), nil},
}

var ventilations = []driver[haltest.VentilationRig]{{inMemory, ventilationInMemory, nil}}

var contactors = []driver[haltest.ContactorRig]{
	{inMemory, contactorInMemory, nil}, {onLines, contactorOnLines, nil}, {moduleTCP, contactorOver(modbus.TCP), nil}, {moduleRTU, contactorOver(modbus.RTU), nil},
}

var thermometers = []driver[haltest.ThermometerRig]{
	{inMemory, thermometerInMemory, []reason{{"AJumpIsSeenTwice", "it is the bath itself: no chip that could be wrong once"}}},
	{"1-Wire, kernel", thermometerOfKernel, nil}, {"1-Wire, bus", thermometerOnBus, nil}, {"RTD, SPI", thermometerResistor, nil},
	{moduleTCP, thermometerOver(modbus.TCP), nil}, {moduleRTU, thermometerOver(modbus.RTU), nil},
}

var voltmeters = []driver[haltest.VoltmeterRig]{
	{inMemory, meterInMemory, nil}, {"SCPI, TCP", voltmeterSCPI(false), nil}, {"SCPI, serial", voltmeterSCPI(true), nil},
	{moduleTCP, voltmeterOver(modbus.TCP), nil}, {moduleRTU, voltmeterOver(modbus.RTU), nil}, {"divider, I2C", voltmeterDivider, nil},
}

var beacons = []driver[haltest.BeaconRig]{
	{onLines, beaconOnLines, nil}, {moduleTCP, beaconOver(modbus.TCP), nil}, {moduleRTU, beaconOver(modbus.RTU), nil},
}

var colourSensors = []driver[haltest.ColourSensorRig]{{inMemory, colourSensorInMemory, nil}, {"spectral chip, I2C", colourSensorChip, nil}}

// TestEveryDriver holds every driver against the contract of its device, over the virtual
// bench and in simulated time, and prints a table of each:
//
//	go test -v -run TestEveryDriver ./hal/haltest
func TestEveryDriver(t *testing.T) {
	t.Run("supply", func(t *testing.T) {
		every(t, supplies, func(t *testing.T, open func(*testing.T) haltest.SupplyRig, tell told) {
			haltest.Supply(t, haltest.SupplySuite{Run: synctest.Test, Open: open, Tell: tell})
		})
	})
	t.Run("interlock", func(t *testing.T) { every(t, interlocks, lids) })
	t.Run("emergency stop", func(t *testing.T) {
		every(t, stops, func(t *testing.T, open func(*testing.T) haltest.StopRig, tell told) {
			haltest.EmergencyStop(t, haltest.StopSuite{Run: synctest.Test, Open: open, Tell: tell})
		})
	})
	t.Run("ventilation", func(t *testing.T) {
		every(t, ventilations, func(t *testing.T, open func(*testing.T) haltest.VentilationRig, tell told) {
			haltest.Ventilation(t, haltest.VentilationSuite{Run: synctest.Test, Open: open, Tell: tell})
		})
	})
	t.Run("contactor", func(t *testing.T) {
		every(t, contactors, func(t *testing.T, open func(*testing.T) haltest.ContactorRig, tell told) {
			haltest.Contactor(t, haltest.ContactorSuite{Run: synctest.Test, Open: open, Tell: tell})
		})
	})
	t.Run("thermometer", func(t *testing.T) {
		every(t, thermometers, func(t *testing.T, open func(*testing.T) haltest.ThermometerRig, tell told) {
			haltest.Thermometer(t, haltest.ThermometerSuite{Run: synctest.Test, Open: open, Tell: tell})
		})
	})
	t.Run("voltmeter", func(t *testing.T) {
		every(t, voltmeters, func(t *testing.T, open func(*testing.T) haltest.VoltmeterRig, tell told) {
			haltest.Voltmeter(t, haltest.VoltmeterSuite{Run: synctest.Test, Open: open, Tell: tell})
		})
	})
	t.Run("beacon", func(t *testing.T) {
		every(t, beacons, func(t *testing.T, open func(*testing.T) haltest.BeaconRig, tell told) {
			haltest.Beacon(t, haltest.BeaconSuite{Run: synctest.Test, Open: open, Tell: tell})
		})
	})
	t.Run("colour sensor", func(t *testing.T) {
		every(t, colourSensors, func(t *testing.T, open func(*testing.T) haltest.ColourSensorRig, tell told) {
			haltest.ColourSensor(t, haltest.ColourSensorSuite{Run: synctest.Test, Open: open, Tell: tell})
		})
	})
}

// told takes what became of a test.
type told = func(test, outcome string)

// lids are held against being asked, and against calling where they can.
func lids(t *testing.T, open func(*testing.T) haltest.InterlockRig, tell told) {
	suite := haltest.InterlockSuite{Run: synctest.Test, Open: open, Tell: tell}
	haltest.Interlock(t, suite)
	can := false
	synctest.Test(t, func(t *testing.T) { _, can = open(t).Interlock.(hal.Changer) })
	if !can {
		haltest.NoChanger(suite)
		return
	}
	haltest.Changer(t, suite, func(r haltest.InterlockRig) { r.Contacts(true, false); r.Contacts(true, true) })
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
