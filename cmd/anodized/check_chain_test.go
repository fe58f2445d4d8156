package main

import "testing"

func TestCheckFindsMistakesOfLines(t *testing.T) {
	refusesSpoilt(t, "bench-gpio.yaml", []spoilt{
		{"line of the lid in the emergency stop", "[STOP-A, STOP-B]", "[STOP-A, LID-B]", "", `"LID-B" is a line of the interlock already`},
		{"line of the emergency stop in the contactor", "feedback line: CONTACTOR-MIRROR", "feedback line: STOP-A", "", "is a line of the emergency stop already"},
		{"line of the lid as that of the airflow switch", "line: AIRFLOW", "line: LID-A", "", "is a line of the interlock already"},
		{"no line of the airflow switch", "  line: AIRFLOW                 # airflow switch, closed while the air moves\n", "", "driver: gpio\n  closed level: low\ncontactor", `missing key "line"`},
		{"airflow switch by a fan", "ventilation:\n  driver: gpio", "ventilation:\n  driver: fan", "driver: fan", "not known"},
		{"line of the lid as the pulse", "pulse line: CONTACTOR-PULSE", "pulse line: LID-A", "", "is a line of the interlock already"},
		{"lamp on the drop line", "white line: 5", "white line: CONTACTOR-DROP", "", "is a line of the contactor already"},
		{"two lamps on one number, spelt otherwise", "white line: 5", "white line: 003", "", "is a line of the beacon already"},
		{"two lamps on one line", "white line: 5", "white line: 3", "", "3"},
		{"a number without a chip", "[LID-A, LID-B]", "[17, 27]", "", "the chip must be named"},
		{"pulse by number without a chip", "pulse line: CONTACTOR-PULSE", "pulse line: 22", "", "the chip must be named"},
		{"chip that is no device", "chip: /dev/gpiochip1", "chip: gpiochip1", "", "is no device file"},
		{"chip outside of /dev", "chip: /dev/gpiochip1", "chip: /dev/../tmp/chip", "", "is no device file"},
		{"negative line", "red line: 3", "red line: -3", "", "neither the label nor the number"},
		{"label of more bytes than the kernel has", "[STOP-A, STOP-B]", "[STOP-A, ÄÄÄÄÄÄÄÄÄÄÄÄÄÄÄÄ]", "", "at most 31"},
		{"empty label", "[STOP-A, STOP-B]", "[STOP-A, \"\"]", "", "empty"},
		{"no lines", "[STOP-A, STOP-B]", "[]", "", "0 given"},
		{"one-shot that never lets go", "one-shot: 1 s", "one-shot: 10 s", "", "out of range; allowed is 0.5 s to 1.2 s"},
		{"one-shot that lets go between two ticks", "one-shot: 1 s", "one-shot: 90 ms", "", "out of range"},
		{"one-shot without a unit", "one-shot: 1 s", "one-shot: 1", "", "has no unit"},
		{"no one-shot", "  one-shot: 1 s\n", "", "driver: gpio\n  pulse", `missing key "one-shot"`},
		{"no mirror contact", "  feedback line: CONTACTOR-MIRROR\n", "", "driver: gpio\n  pulse", `missing key "feedback line"`},
		{"drop on the mirror", "drop line: CONTACTOR-DROP", "drop line: CONTACTOR-MIRROR", "feedback line", "is the drop line already"},
		{"pull that hides a loose wire", "bias: none", "bias: pull-up", "", "makes a loose wire read as a closed contact"},
		{"level of another word", "closed level: low ", "closed level: ground ", "", "not known"},
		{"watchdog of the Modbus driver", "one-shot: 1 s", "watchdog: 1 s", "", `unknown key "watchdog"`},
		{"lamp that there is not", "white line: 5", "orange line: 5", "", `unknown key "orange line"`},
		{"beacon by a lamp", "beacon:\n  driver: gpio", "beacon:\n  driver: lamp", "driver: lamp", "not known"},
		{"lines of a beacon by Modbus", "beacon:\n  driver: gpio", "beacon:\n  driver: modbus", "red line", `unknown key "red line"`},
		{"contactor null", "contactor:\n", "contactor: null\n#\nx:\n", "contactor: null", "found no value"},
	})
}

func TestCheckFindsMistakesOfARemoteModule(t *testing.T) {
	refusesSpoilt(t, "bench-remote-chain.yaml", []spoilt{
		{"other speed of one line", "emergency stop:\n  driver: modbus\n  address: rtu+tcp://192.0.2.6:4001", "emergency stop:\n  driver: modbus\n  address: tcp://192.0.2.6:4001", "address: tcp://192.0.2.6:4001", "one place speaks one language"},
		{"mirror on an input of the lid", "feedback input: 4", "feedback input: 1", "driver: modbus\n  address: rtu+tcp://192.0.2.6:4001\n  unit: 2\n  pulse", "input 1 is one of the interlock already"},
		{"airflow switch on an input of the lid", "input: 5", "input: 0", "driver: modbus\n  address: rtu+tcp://192.0.2.6:4001\n  unit: 2\n  input: 0", "input 0 is one of the interlock already"},
		{"airflow switch on the mirror contact", "input: 5", "input: 4", "driver: modbus\n  address: rtu+tcp://192.0.2.6:4001\n  unit: 2\n  pulse", "input 4 is one of the ventilation already"},
		{"airflow switch beyond the table", "input: 5", "input: 65536", "", "out of range"},
		{"two inputs of the airflow switch", "input: 5", "inputs: [5, 6]", "", `unknown key "inputs"`},
		{"drop on the pulse", "drop coil: 1", "drop coil: 0", "", "is the pulse coil already"},
		{"coil beyond the table", "pulse coil: 0", "pulse coil: 65536", "", "out of range"},
		{"nothing holds it", "  one-shot: 1 s\n", "", "driver: modbus\n  address: rtu+tcp://192.0.2.6:4001\n  unit: 2\n  pulse", "exactly one of: one-shot, watchdog"},
		{"two hold it", "one-shot: 1 s", "one-shot: 1 s\n  watchdog: 1 s", "  watchdog", "exactly one of these"},
		{"watchdog of five seconds", "one-shot: 1 s", "watchdog: 5 s", "", "out of range"},
		{"line of the GPIO driver", "pulse coil: 0", "pulse line: 0", "", `unknown key "pulse line"`},
		{"three contacts", "inputs: [2, 3]", "inputs: [2, 3, 5]", "", "3 given"},
		{"lamp on the coil of the drop", "red coil: 2", "red coil: 1", "", "lies on drop coil of the contactor"},
		{"two lamps on one coil", "white coil: 4", "white coil: 3", "", "needs a coil of its own"},
		{"lamp on a line", "white coil: 4", "white line: 4", "", `unknown key "white line"`},
		{"lamp beyond the table", "red coil: 2", "red coil: 70000", "", "out of range"},
		{"voltmeter is the supply", "tcp://192.0.2.7:5025", "\"tcp://192.0.2.5:5025\"", "driver: scpi\n  address: \"tcp", "proves nothing"},
		{"voltmeter is the supply, spelt otherwise", "tcp://192.0.2.7:5025", "\"tcp://192.0.2.5:05025\"", "driver: scpi\n  address: \"tcp", "proves nothing"},
		{"voltmeter where the module is", "tcp://192.0.2.7:5025", "tcp://192.0.2.6:4001", "address: tcp://192.0.2.6:4001", "one place speaks one language"},
		{"query that asks nothing", "query: READ?", "query: READ", "", "is no question"},
		{"settle of a minute", "voltmeter:\n", "voltmeter:\n  settle: 1 min\n", "settle: 1 min", "out of range"},
		{"dialect of a supply", "    query: READ?", "    ovp: none", "", `unknown key "ovp"`},
	})
}

func TestCheckFindsMistakesOfTheSetUp(t *testing.T) {
	refusesSpoilt(t, "bench-set-up.yaml", []spoilt{
		{"date of the future's calendar", "ripple: {date: 2026-03-02", "ripple: {date: 2026-02-30", "", "is not a date"},
		{"ripple in ohm", "answer: 0.2 V", "answer: 2 ohm", "", "a voltage is needed"},
		{"bleed resistor in volts", "answer: 1000 ohm", "answer: 100 V", "", "needed"},
		{"mains return that differs", "mains return: {date: 2026-03-02, answer: halted}", "mains return: {date: 2026-03-02, answer: as before}", "", "correct the wrong one"},
		{"contactor that there is", "answer: both poles", "answer: none", "contactor: {date", "the file has one"},
		{"answer twice", "  voltage measured:", "  ripple: {date: 2026-03-02, answer: 0.3 V}\n  voltage measured:", "answer: 0.3 V", "stands twice"},
		{"check without points", "    points:\n      - {set: 12 V, volts: 12.01 V, amperes: 0.12 A, metered: 12 V}\n      - {set: 30 V, volts: 30.02 V, amperes: 0.3 A, metered: 30 V}\n      - {set: 60 V, volts: 60.05 V, amperes: 0.6 A, metered: 60 V}\n", "    points: []\n", "points: []", "the list has 0 items"},
		{"resistor in volts", "resistor: 100 ohm", "resistor: 100 V", "", "needed"},
		{"result of another word", "result: good", "result: fine", "", "not known"},
	})
}
