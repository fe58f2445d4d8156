package profiles

import (
	"time"

	"anodized/hal/unit"
)

// Bench is a bench file: the devices of one bench and how they are reached.
type Bench struct {
	Supply      SupplyEntry       `json:"supply"`
	Interlock   InterlockEntry    `json:"interlock"`
	Temperature *ThermometerEntry `json:"bath_temperature,omitempty"`
	Contactor   *ContactorEntry   `json:"contactor,omitempty"`

	EmergencyStop *StopEntry   `json:"emergency_stop,omitempty"`
	Beacon        *BeaconEntry `json:"beacon,omitempty"`

	SetUp  *SetUp      `json:"set_up,omitempty"` // what no reading tells
	Checks []LoadCheck `json:"checks,omitempty"` // against a resistor, the newest last

	Voltmeter *VoltmeterEntry `json:"voltmeter,omitempty"`

	Ventilation *VentilationEntry `json:"ventilation,omitempty"`

	ColourSensor *ColourSensorEntry `json:"colour_sensor,omitempty"` // it advises, and stops nothing
}

// SupplyEntry is the supply of a bench.
type SupplyEntry struct {
	Driver         string       `json:"driver"`  // scpi, modbus, analog, virtual
	Address        string       `json:"address"` // see Address
	HighestVoltage unit.Volts   `json:"highest_volts"`
	HighestCurrent unit.Amperes `json:"highest_amperes"`
	Dialect        Dialect      `json:"dialect"`
	Analog         *AnalogEntry `json:"analog,omitempty"` // of driver analog
	Modbus         *ModbusEntry `json:"modbus,omitempty"` // of driver modbus
}

// Dialect is what an instrument does differently from the standard's habit.
type Dialect struct {
	SendEnd     string        `json:"send_end"`  // lf, crlf, cr; default lf
	ReplyEnd    string        `json:"reply_end"` // lf, crlf, cr, any; default any
	Echo        bool          `json:"echo"`
	Ack         string        `json:"ack"` // the text that answers a set command, "" for none
	Enter       []string      `json:"enter,omitempty"`
	Leave       []string      `json:"leave,omitempty"`
	Compound    bool          `json:"compound"` // default true
	OPC         bool          `json:"opc"`      // default true
	Errors      string        `json:"errors"`   // queue, esr, none; default queue
	Probe       string        `json:"probe"`    // ese, idn, reopen; default ese
	OVP         string        `json:"ovp"`      // header of the over-voltage level; "none" where there is none
	Status      string        `json:"status"`   // questionable, operation, summary, none; required
	Timeout     time.Duration `json:"timeout"`  // default 300 ms
	Gap         time.Duration `json:"gap"`
	Settle      time.Duration `json:"settle"` // required
	DecimalsV   int           `json:"decimals_v"`
	DecimalsA   int           `json:"decimals_a"`
	MainsReturn string        `json:"mains_return"` // halted, as_before, energised, unknown; required

	LostHostSwitch string        `json:"lost_host_switch,omitempty"` // header that switches the supply's lost-host timer on and off
	LostHostDelay  string        `json:"lost_host_delay,omitempty"`  // header of its delay in seconds
	LostHostAfter  time.Duration `json:"lost_host_after,omitempty"`  // that delay; default 1 s
}

// InterlockEntry is the lid switch of a bench: two channels, both closed to run.
type InterlockEntry struct {
	Driver   string        `json:"driver"`
	Address  string        `json:"address,omitempty"` // of modbus
	Unit     int           `json:"unit"`
	Inputs   [2]int        `json:"inputs"` // of modbus: addresses of the discrete inputs, 0-based
	Timeout  time.Duration `json:"timeout"`
	Loopback bool          `json:"loopback"` // of modbus: function 08 echoes a number
	Lines    [2]string     `json:"lines"`    // of gpio: labels or numbers
	Wiring   WiringEntry   `json:"wiring"`
}

// ThermometerEntry is the bath thermometer of a bench.
type ThermometerEntry struct {
	Driver  string `json:"driver"`
	Device  string `json:"device,omitempty"`  // onewire: ROM code; empty: the only one there is
	Through string `json:"through,omitempty"` // onewire: kernel (its files) or bus (the bus itself); default kernel

	Bus        string    `json:"bus,omitempty"`        // max31865: /dev/spidev0.1
	Resistance unit.Ohms `json:"resistance,omitempty"` // max31865: at 0 °C
	Reference  unit.Ohms `json:"reference,omitempty"`  // max31865
	Wires      int       `json:"wires,omitempty"`      // max31865: 2, 3 or 4

	Address  string         `json:"address,omitempty"` // of modbus
	Unit     int            `json:"unit,omitempty"`    // of modbus
	Timeout  time.Duration  `json:"timeout,omitempty"` // of modbus
	Loopback bool           `json:"loopback,omitempty"`
	Register *RegisterEntry `json:"register,omitempty"` // of modbus, in °C
}

// ContactorEntry is the contactor of a bench, held by a retriggerable one-shot, or by the
// watchdog of a remote module.
type ContactorEntry struct {
	Driver       string        `json:"driver"`
	PulseLine    string        `json:"pulse_line"`
	DropLine     string        `json:"drop_line"`
	FeedbackLine string        `json:"feedback_line"`
	OneShot      time.Duration `json:"one_shot"`
	DropLevel    string        `json:"drop_level"` // low or high: what clears the one-shot; default low, as a dead board gives
	Wiring       WiringEntry   `json:"wiring"`     // of the mirror contact

	// Of modbus: the coils that close it, and the input of the mirror contact.
	Address       string        `json:"address,omitempty"`
	Unit          int           `json:"unit,omitempty"`
	Timeout       time.Duration `json:"timeout,omitempty"`
	Loopback      bool          `json:"loopback,omitempty"`
	PulseCoil     int           `json:"pulse_coil,omitempty"`
	DropCoil      int           `json:"drop_coil,omitempty"` // -1: there is none
	FeedbackInput int           `json:"feedback_input,omitempty"`
	Watchdog      bool          `json:"watchdog,omitempty"` // the module's own watchdog holds it, for OneShot; else a one-shot behind the coil
}
