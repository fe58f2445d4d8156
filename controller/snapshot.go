package controller

import (
	"time"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// Snapshot is the bench and its run at the end of one tick, or within it at a new trip. It
// is never changed after it was published. Its JSON is what the status of a station looks
// like.
type Snapshot struct {
	Tick          uint64          `json:"tick"`
	Version       uint64          `json:"-"` // raised by every publication: a tick may have two
	At            time.Time       `json:"-"` // of the tick, on the pacer's clock
	T             Number          `json:"t_s"`
	State         string          `json:"state"`
	Run           string          `json:"run"`
	Simulated     bool            `json:"simulated"`
	Interlock     InterlockView   `json:"interlock"`
	EmergencyStop StopView        `json:"emergency_stop"`
	Ventilation   VentilationView `json:"ventilation"`
	Contactor     ContactorView   `json:"contactor"`
	Supply        SupplyView      `json:"supply"`
	SafeToOpen    SafeToOpen      `json:"safe_to_open"`
	Bath          BathView        `json:"bath"`
	Voltmeter     VoltmeterView   `json:"voltmeter"`
	Estimates     EstimatesView   `json:"estimates"`
	Progress      Progress        `json:"progress"`
	Waiting       []string        `json:"waiting_for"` // what a start still waits for, or the acknowledgement of a trip
	Question      *Question       `json:"question"`
	Findings      []fault.Finding `json:"findings"`
	Trip          *record.Trip    `json:"trip"`
	Loop          LoopView        `json:"loop"`
	Load          *Load           `json:"load"` // what runs, or ran last; null before the first

	state   process.State
	closing bool // the result of the last load is on its way to the disk
}

// InterlockView is the lid switch as last read.
type InterlockView struct {
	Closed   bool    `json:"closed"` // both channels read, fresh and closed
	Channels [2]bool `json:"channels"`
	AgeMS    Number  `json:"age_ms"`
	Since    Number  `json:"closed_for_s"` // how long both have been closed; null while they are not
}

// StopView is the emergency stop as last read. One that cannot be read counts as
// pressed.
type StopView struct {
	Fitted  bool   `json:"fitted"`
	Pressed bool   `json:"pressed"`
	AgeMS   Number `json:"age_ms"`
}

// VentilationView is the airflow switch as last read. One that cannot be read proves
// nothing.
type VentilationView struct {
	Fitted bool   `json:"fitted"`
	Proven bool   `json:"proven"` // the switch says now that the air moves
	AgeMS  Number `json:"age_ms"`
}

// ContactorView is the contactor as its mirror contact last said. One that cannot be
// read counts as closed.
type ContactorView struct {
	Fitted bool   `json:"fitted"`
	Closed bool   `json:"closed"`
	AgeMS  Number `json:"age_ms"`
}

// SupplyView is the supply as commanded and as last read.
type SupplyView struct {
	SetVolts     Number `json:"set_volts"`
	LimitAmperes Number `json:"limit_amperes"`
	Volts        Number `json:"volts"`
	Amperes      Number `json:"amperes"`
	Mode         string `json:"mode"`
	Output       string `json:"output"` // on, off or unknown; unknown counts as on for people
	AgeMS        Number `json:"age_ms"`
}

// SafeToOpen says whether the cell is proven to be dead, and if not, why.
type SafeToOpen struct {
	Proven bool   `json:"proven"`
	Volts  Number `json:"volts"`
	Why    string `json:"why"`
}

// BathView is the bath thermometer as last read.
type BathView struct {
	Celsius Number `json:"celsius"`
	AgeMS   Number `json:"age_ms"`
}

// VoltmeterView is the independent voltmeter across the cell as last read.
type VoltmeterView struct {
	Fitted bool   `json:"fitted"`
	Volts  Number `json:"volts"`
	AgeMS  Number `json:"age_ms"`
}

// EstimatesView is what the readings of the run say so far.
type EstimatesView struct {
	LiveArea          Number `json:"live_area_cm2"`
	LiveAreaSD        Number `json:"live_area_sd_cm2"`
	Charge            Number `json:"charge_coulombs"`
	ThicknessByVolts  Number `json:"thickness_by_volts_nm"`
	ThicknessByCharge Number `json:"thickness_by_charge_nm"`
	Density           Number `json:"current_density_ma_cm2"`
	SeriesOhm         Number `json:"series_ohm"`
	OnsetVolts        Number `json:"onset_volts"`
	Leak              Number `json:"leak_amperes"`
}

// Progress is how far the run is and how long it still takes.
type Progress struct {
	Fraction    Number `json:"fraction"`
	SecondsLeft Number `json:"seconds_left"`
	LeastLeft   Number `json:"least_seconds_left"`
	MostLeft    Number `json:"most_seconds_left"`
}

// Question is what a person is asked: with the output at the contact-check volts, or,
// after a stop, whether the end was good by eye.
type Question struct {
	Code fault.Code `json:"code"`
	Text string     `json:"text"`
	Left Number     `json:"seconds_left"` // then silence is a trip
}

// LoopView is how well the ticks keep their time.
type LoopView struct {
	Lateness unit.Seconds `json:"lateness_s"` // of this tick
	Took     unit.Seconds `json:"took_s"`     // by the clock of this computer
	Overruns uint64       `json:"overruns"`   // ticks more than half a tick late, so far
	Dropped  uint64       `json:"rows_dropped"`
	Waiting  int          `json:"rows_waiting"`
	Errors   Errors       `json:"device_errors"`
	Late     Times        `json:"-"` // of all ticks so far
	Long     Times        `json:"-"` // how long they took
}

// Errors counts the exchanges that failed, by device, since the Station began.
type Errors struct {
	Interlock     uint64 `json:"interlock"`
	Supply        uint64 `json:"supply"`
	Thermometer   uint64 `json:"thermometer"`
	Contactor     uint64 `json:"contactor"`
	EmergencyStop uint64 `json:"emergency_stop"`
	Ventilation   uint64 `json:"ventilation"`
	Beacon        uint64 `json:"beacon"`
	Voltmeter     uint64 `json:"voltmeter"`
}

// Load names what runs, for those who show it. Constant from the start on.
type Load struct {
	Request   Request    `json:"-"`
	Rack      string     `json:"rack"`
	Profile   string     `json:"profile"`
	Target    unit.Volts `json:"target_volts"`
	StartedAt time.Time  `json:"started_at"` // wall clock, a label
}
