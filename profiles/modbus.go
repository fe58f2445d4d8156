package profiles

import (
	"math"
	"time"

	"anodized/hal/unit"
)

// ModbusEntry is a supply whose setpoints, output and readings are Modbus registers.
type ModbusEntry struct {
	Unit           int           `json:"unit"`           // 1 to 247; 0 and 255 over TCP as well
	Timeout        time.Duration `json:"timeout"`        // of one answer; default 500 ms
	Gap            time.Duration `json:"gap"`            // least silence between frames, beyond that of the protocol
	Loopback       bool          `json:"loopback"`       // function 08 echoes a number
	Identification bool          `json:"identification"` // function 43 is asked for who it is; default true
	Settle         time.Duration `json:"settle"`
	MainsReturn    string        `json:"mains_return"` // halted, as_before, energised, unknown
	Map            RegisterMap   `json:"map"`
}

// RegisterMap says what is where. Addresses are those on the wire, from 0.
type RegisterMap struct {
	SetpointVoltage RegisterEntry `json:"setpoint_voltage"`
	SetpointCurrent RegisterEntry `json:"setpoint_current"`
	Output          OutputEntry   `json:"output"`
	MeasuredVoltage RegisterEntry `json:"measured_voltage"`
	MeasuredCurrent RegisterEntry `json:"measured_current"`
	Status          *StatusEntry  `json:"status,omitempty"` // nil: the supply tells nothing of regulation and trips
}

// RegisterEntry is a number in one register or two, in the unit of its scale.
type RegisterEntry struct {
	Table   string  `json:"table"` // holding, input
	Address int     `json:"address"`
	Type    string  `json:"type"`            // u16, i16, u32, i32, f32
	Order   string  `json:"order,omitempty"` // high_first, low_first: of the two words
	Scale   float64 `json:"scale"`           // V, A or °C of one count
	Step    float64 `json:"step,omitempty"`  // of a setpoint of type f32
	Min     float64 `json:"min"`
	Max     float64 `json:"max"`
}

// OutputEntry is the switch of the output.
type OutputEntry struct {
	Table     string `json:"table"` // holding, coil
	Address   int    `json:"address"`
	Energised int    `json:"energised"`
	Halted    int    `json:"halted"`
}

// StatusEntry is a register of bits; -1 stands for a bit that there is not.
type StatusEntry struct {
	Table     string `json:"table"` // holding, input
	Address   int    `json:"address"`
	CV        int    `json:"cv"`
	CC        int    `json:"cc"`
	Energised int    `json:"energised"`
	Tripped   []int  `json:"tripped,omitempty"`
}

// Words is how many registers the number takes.
func (e RegisterEntry) Words() int {
	if e.Type == "u16" || e.Type == "i16" {
		return 1
	}
	return 2
}

// Resolution is the step of a setpoint, in the unit of its scale.
func (e RegisterEntry) Resolution() float64 {
	if e.Type == "f32" {
		return e.Step
	}
	return e.Scale
}

// Floor is the least setpoint, in the unit of its scale: min, up to a step.
func (e RegisterEntry) Floor() float64 {
	step := e.Resolution()
	return math.Round(max(0, math.Ceil(e.Min/step-1e-6))*step*1e9) / 1e9
}

// Least is the least that a supply can be set to; zeros where that is nothing, or not
// written in the file.
func (s SupplyEntry) Least() (unit.Volts, unit.Amperes) {
	if s.Modbus == nil {
		return 0, 0
	}
	return unit.Volts(s.Modbus.Map.SetpointVoltage.Floor()), unit.Amperes(s.Modbus.Map.SetpointCurrent.Floor())
}
