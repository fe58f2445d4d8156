package profiles

import "time"

// VoltmeterEntry is an independent voltmeter across the cell.
type VoltmeterEntry struct {
	Driver    string          `json:"driver"`              // scpi, modbus, analog
	Address   string          `json:"address,omitempty"`   // of scpi and modbus
	Dialect   MeterDialect    `json:"dialect"`             // of scpi
	Unit      int             `json:"unit,omitempty"`      // of modbus
	Timeout   time.Duration   `json:"timeout,omitempty"`   // of modbus
	Loopback  bool            `json:"loopback,omitempty"`  // of modbus: function 08 echoes a number
	Register  *RegisterEntry  `json:"register,omitempty"`  // of modbus, in V
	Converter *ConverterEntry `json:"converter,omitempty"` // of analog: behind a divider, in V
	Settle    time.Duration   `json:"settle"`              // until it shows a step; default 300 ms
}

// MeterDialect is what a meter does differently from the standard's habit.
type MeterDialect struct {
	Query    string        `json:"query,omitempty"`     // default MEAS:VOLT:DC?
	Enter    []string      `json:"enter,omitempty"`     // commands that make it ready
	SendEnd  string        `json:"send_end,omitempty"`  // lf, crlf, cr; default lf
	ReplyEnd string        `json:"reply_end,omitempty"` // lf, crlf, cr, any; default any
	Echo     bool          `json:"echo,omitempty"`
	Probe    string        `json:"probe,omitempty"`   // ese, idn, reopen; default ese
	Timeout  time.Duration `json:"timeout,omitempty"` // default 1 s
	Gap      time.Duration `json:"gap,omitempty"`
}
