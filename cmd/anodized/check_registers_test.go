package main

import "testing"

func TestCheckFindsMistakesOfAMapOfRegisters(t *testing.T) {
	refusesSpoilt(t, "bench-modbus.yaml", []spoilt{
		{"no map", "  map:\n", "  maps:\n", "", `did you mean "map"?`},
		{"no settle", "  settle: 200 ms\n", "", "driver: modbus", `missing key "settle"`},
		{"no mains return", "  mains return: halted\n", "", "driver: modbus", `missing key "mains return"`},
		{"mains return of the SCPI driver", "  mains return: halted", "  mains_return: halted", "", `unknown key "mains_return"`},
		{"mains return energised", "mains return: halted", "mains return: energised", "", `mains return: "energised" needs a contactor`},
		{"way of the SCPI driver", "rtu:///dev/serial/by-id/usb-bench?baud=9600&parity=even\n  unit: 1", "serial:///dev/serial/by-id/usb-bench\n  unit: 1", "", "is not a way to this device"},
		{"other speed of one line", "  address: rtu:///dev/serial/by-id/usb-bench?baud=9600&parity=even\n  unit: 2", "  address: rtu:///dev/serial/by-id/usb-bench?baud=19200&parity=even\n  unit: 2", "", "with other settings"},
		{"other parity of one line", "  address: rtu:///dev/serial/by-id/usb-bench?baud=9600&parity=even\n  unit: 3", "  address: rtu:///dev/serial/by-id/usb-bench?baud=9600&parity=odd\n  unit: 3", "", "with other settings"},
		{"unit of all devices", "  unit: 1", "  unit: 0", "", "not the number of one device"},
		{"reserved unit", "  unit: 2", "  unit: 248", "", "not the number of one device"},
		{"setpoint among the inputs", "setpoint_voltage: {table: holding", "setpoint_voltage: {table: input", "", "allowed: holding"},
		{"address of a manual", "address: 0x0100", "address: 30257.5", "", "is no address on the wire"},
		{"address of six digits", "address: 0x0100", "address: 400001", "", "is no address on the wire"},
		{"binary address", "address: 0x0100", "address: 0b11", "", "is no address on the wire"},
		{"type that there is not", "type: u32", "type: u64", "", "not known"},
		{"two words without an order", "type: u32, order: high_first", "type: u32", "", `missing key "order"`},
		{"order of another word", "order: high_first, scale: 0.001 V", "order: big_endian, scale: 0.001 V", "", "not known"},
		{"two words at the end of the table", "address: 0x0102", "address: 0xFFFF", "", "does not fit there"},
		{"scale zero", "scale: 0.001 V", "scale: 0 V", "", "out of range"},
		{"scale of another unit", "scale: 0.001 V", "scale: 1 mV", "", "a number in V is needed"},
		{"range beyond the type", "type: u16, scale: 0.01 V, min: 0 V, max: 120 V", "type: u16, scale: 0.001 V, min: 0 V, max: 120 V", "", "a count reaches from"},
		{"overlapping registers", "address: 0x0102", "address: 0x0101", "", "lies on a register of measured_voltage"},
		{"output on a setpoint", "address: 0x0002", "address: 0x0001", "", "lies on a register of setpoint_current"},
		{"status on the amperes", "address: 0x0104", "address: 0x0103", "", "lies on a register of measured_current"},
		{"on is off", "energised: 1, halted: 0", "energised: 0, halted: 0", "", "the same as energised"},
		{"bit of two meanings", "cv: 0, cc: 1", "cv: 1, cc: 1", "", "bit 1 has two meanings"},
		{"bit 16", "energised: 8", "energised: 16", "", "out of range"},
		{"volts that cannot be read", "min: -1 V, max: 130 V", "min: -1 V, max: 100 V", "", "2 % above the highest voltage"},
		{"zero that cannot be read", "min: -1 V, max: 130 V", "min: 1 V, max: 130 V", "", "a supply at rest reads 0 V"},
		{"amperes that cannot be read", "min: -0.1 A, max: 6 A", "min: -0.1 A, max: 5 A", "", "2 % above the highest current"},
		{"least setpoint above the highest", "min: 0 V, max: 120 V", "min: 110 V, max: 120 V", "", "min: 110 V, up to a step, is not below the highest voltage of 100 V"},
		{"highest above the map", "highest voltage: 100 V", "highest voltage: 125 V", "    setpoint_voltage", "the highest voltage is 125 V"},
		{"thermometer on the volts of the supply", "  unit: 3\n  register: {table: input, address: 0,", "  unit: 1\n  register: {table: input, address: 0x100,", "register: {table", "lies on measured_voltage of the supply"},
		{"thermometer in volts", "scale: 0.1 °C", "scale: 0.1 V", "", "a number in °C is needed"},
		{"voltmeter that is the supply's", "", "voltmeter:\n  driver: modbus\n  address: rtu:///dev/serial/by-id/usb-bench?baud=9600&parity=even\n  unit: 1\n  register: {table: input, address: 0x0100, type: u32, order: high_first, scale: 0.001 V, min: -1 V, max: 130 V}\n", "  register: {table: input, address: 0x0100", "lies on measured_voltage of the supply"},
	})
}

func TestCheckFindsMistakesOfConverters(t *testing.T) {
	refusesSpoilt(t, "bench-analog.yaml", []spoilt{
		{"address of a way", "  driver: analog\n", "  driver: analog\n  address: /dev/i2c-1\n", "  address: /dev", `unknown key "address"`},
		{"no enable contact", "  enable: {line: SUPPLY-ENABLE, closed level: high}\n", "", "driver: analog", `missing key "enable"`},
		{"enable on a line of the lid", "interlock:\n  driver: modbus\n  address: tcp://192.0.2.6:502\n  inputs: [0, 1]\n", "interlock:\n  driver: gpio\n  lines: [LID-A, SUPPLY-ENABLE]\n", "lines:", "is a line of the supply already"},
		{"enable by number without a chip", "line: SUPPLY-ENABLE", "line: 17", "", "the chip must be named"},
		{"mains return energised", "mains return: halted", "mains return: energised", "", "needs a contactor"},
		{"bus spelt with a nought", "bus: /dev/i2c-1\n    address: 0x61", "bus: /dev/i2c-01\n    address: 0x60", "", "is not the bus of this chip"},
		{"address of another chip", "address: 0x48", "address: 0x60", "", "is not an address of this chip"},
		{"two chips at one place", "address: 0x61", "address: 0x60", "chip: mcp4725\n    bus: /dev/i2c-1\n    address: 0x60\n    reference: 5 V\n    scale: {pin: 5 V, means: 5 A}", "is used twice"},
		{"channel that there is not", "channel: 0", "channel: 4", "", "not known"},
		{"range of another chip", "range: 4.096 V", "range: 5 V", "", "is no range of this chip"},
		{"scale without amperes", "means: 5 A}\n\n  # What watches", "means: 5 V}\n\n  # What watches", "", "a number in A is needed"},
		{"scale that does not reach", "pin: 5 V, means: 120 V", "pin: 5 V, means: 90 V", "      date: 2026", "of the full scale of 90"},
		{"dead band above a tenth", "dead band: 0.5 V", "dead band: 12 V", "", "more than a tenth"},
		{"dead band in amperes", "dead band: 0.5 V", "dead band: 0.5 A", "", "a number in V is needed"},
		{"calibration that bends", "metered: 59.97 V", "metered: 62 V", "      date: 2026", "middle point"},
		{"calibration without a meter", "      meter: bench meter 3\n", "", "date: 2026-03-02", `missing key "meter"`},
		{"two limits", "  # What watches: 4", "  fixed current: 2 A\n  # What watches: 4", "", "exactly one of these"},
		{"thermometer with two wires too many", "wires: 3", "wires: 6", "", "out of range"},
		{"thermometer whose reference is too small", "reference: 430 ohm", "reference: 100 ohm", "", "too little"},
		{"thermometer on a bus of I2C", "bus: /dev/spidev0.1", "bus: /dev/i2c-1", "bus: /dev/i2c-1\n  resistance", "is not the bus of this chip"},
		{"voltmeter on the channel of the supply", "", "voltmeter:\n  driver: analog\n  converter: {chip: ads1115, bus: /dev/i2c-1, address: 0x48, channel: 0, scale: {pin: 4 V, means: 140 V}}\n", "  driver: analog\n  converter", "proves nothing"},
		{"voltmeter with another range of the supply's chip", "", "voltmeter:\n  driver: analog\n  converter: {chip: ads1115, bus: /dev/i2c-1, address: 0x48, channel: 1, range: 2.048 V, scale: {pin: 2 V, means: 140 V}}\n", "  converter: {", "one range for all its channels"},
	})
	refusesSpoilt(t, "bench-analog-fixed-current.yaml", []spoilt{
		{"knob above the highest current", "fixed current: 2 A", "fixed current: 4 A", "", "above the highest current"},
		{"pulse on the enable line", "pulse line: 22", "pulse line: 17", "", "is a line of the supply already"},
		{"two chips behind one select", "  driver: onewire\n  device: 28-000001318252\n  through: kernel\n", "  driver: max31865\n  bus: /dev/spidev0.0\n  resistance: 100 ohm\n  reference: 430 ohm\n  wires: 3\n", "  bus: /dev/spidev0.0\n  resistance", "two chips need two selects"},
		{"no ROM code", "device: 28-000001318252", "device: bath", "", "is no ROM code"},
		{"ROM code of another chip", "device: 28-000001318252", "device: 10-000001318252", "", "is no ROM code"},
		{"no contactor", "contactor:\n", "contractor:\n", "", `did you mean "contactor"?`},
		{"chip that starts at half", "chip: dac8562", "chip: dac8563", "", "powers up at half scale"},
	})
}
