package haltest_test

import (
	"testing"

	"anodized/hal/haltest"
	"anodized/hal/virtual/front"
)

// The ways to the other devices of a virtual bench, each through the driver that a bench
// file opens for it.
const (
	inMemory  = "in memory"
	moduleTCP = "Modbus, TCP"
	moduleRTU = "Modbus, RTU"
)

func overTCP(*front.Options)   {}
func overRTU(o *front.Options) { o.RTUTerminal = true }
func chainWays() []string      { return []string{inMemory, moduleTCP, moduleRTU} }

// TestChain holds what stands around the supply against its contracts, and prints a table
// of each (go test -v -run 'TestSupplies|TestChain' ./hal/haltest).
func TestChain(t *testing.T) {
	for contract, hold := range map[string]func(*testing.T, *table){
		"interlock":      interlocks,
		"emergency stop": stops,
		"contactor": func(t *testing.T, told *table) {
			haltest.Contactor(t, haltest.ContactorSuite{Open: contactorInMemory, Tell: told.of(inMemory)})
		},
		"thermometer": func(t *testing.T, told *table) {
			haltest.Thermometer(t, haltest.ThermometerSuite{Open: thermometerInMemory, Tell: told.of(inMemory)})
		},
		"voltmeter": func(t *testing.T, told *table) {
			haltest.Voltmeter(t, haltest.VoltmeterSuite{Open: meterInMemory, Tell: told.of(inMemory)})
		},
		"colour sensor": func(t *testing.T, told *table) {
			haltest.ColourSensor(t, haltest.ColourSensorSuite{Open: colourSensorInMemory, Tell: told.of(inMemory)})
		},
	} {
		t.Run(contract, func(t *testing.T) {
			told := newTable(chainWays()...)
			hold(t, told)
			t.Log("\n" + told.String())
		})
	}
}

func interlocks(t *testing.T, told *table) {
	for way, open := range map[string]func(*testing.T) haltest.InterlockRig{
		inMemory: interlockInMemory, moduleTCP: interlockOver(overTCP), moduleRTU: interlockOver(overRTU),
	} {
		t.Run(way, func(t *testing.T) {
			haltest.Interlock(t, haltest.InterlockSuite{Open: open, Tell: told.of(way)})
		})
	}
}

func stops(t *testing.T, told *table) {
	for way, open := range map[string]func(*testing.T) haltest.StopRig{
		inMemory: stopInMemory, moduleTCP: stopOver(overTCP), moduleRTU: stopOver(overRTU),
	} {
		t.Run(way, func(t *testing.T) {
			haltest.EmergencyStop(t, haltest.StopSuite{Open: open, Tell: told.of(way)})
		})
	}
}
