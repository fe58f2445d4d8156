package record

import (
	"time"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/watch"
	"anodized/hal/unit"
	"anodized/profiles"
)

// SchemaVersion is the version of the journal's tables and of the rows below.
const SchemaVersion = 3

// Intent is written, and durable, before the output of the supply goes on. It
// holds a frozen copy of everything that the run was made from.
type Intent struct {
	StartedAt   time.Time            `json:"started_at"` // wall clock, a label only
	Plan        plan.Plan            `json:"plan"`
	Profile     profiles.Profile     `json:"profile"`
	Rack        profiles.Rack        `json:"rack"`
	Metal       profiles.Metal       `json:"metal"`
	Bath        profiles.Bath        `json:"bath"`
	Calibration profiles.Calibration `json:"calibration"`
	Supply      string               `json:"supply"` // identity as the instrument gave it
	Simulated   bool                 `json:"simulated"`
	TickSeconds unit.Seconds         `json:"tick_seconds"`
	Operator    string               `json:"operator,omitempty"`
	Note        string               `json:"note,omitempty"`
	StepUp      string               `json:"step_up,omitempty"`     // the run whose parts this one grows on towards their colour
	AfterStrip  string               `json:"after_strip,omitempty"` // the run whose parts these are, stripped since
	Version     string               `json:"version"`               // of this software
	Seed        uint64               `json:"seed,omitempty"`
	Bench       Bench                `json:"bench"`
	LidOpened   *float64             `json:"lid_opened_s"` // seconds before the first energised one, not positive; null where it was not seen
	LidClosed   *float64             `json:"lid_closed_s"`
}

// Bench is what the estimators knew of the instruments, so that a review sees the
// same as the run.
type Bench struct {
	Settle     unit.Seconds `json:"settle_seconds"`
	VoltStep   unit.Volts   `json:"volt_step"`
	AmpereStep unit.Amperes `json:"ampere_step"`
	Zero       unit.Amperes `json:"zero_amperes"` // current reading with the output off, subtracted

	Voltmeter   bool         `json:"voltmeter,omitempty"` // an independent one was fitted across the cell
	MeterSettle unit.Seconds `json:"meter_settle_seconds,omitempty"`
}

// Row is one finished tick. A value that was not read is NaN.
type Row struct {
	T       unit.Seconds // since the first energised second
	Volts   unit.Volts
	Amperes unit.Amperes
	Set     unit.Volts   // setpoint commanded
	Limit   unit.Amperes // current limit commanded
	Bath    unit.Celsius
	Mode    uint8 // process.Mode
	State   uint8 // process.State in force when the reading was taken
	Stage   uint8 // of the plan
	Output  uint8 // process.Output

	Meter Meter // the independent voltmeter, where there is one
}

// Meter is a reading of the independent voltmeter. It is worthless unless OK.
type Meter = watch.Meter

// Event is something that happened at a moment of the run.
type Event struct {
	T       unit.Seconds   `json:"t_s"`
	Kind    string         `json:"kind"` // state, finding, warning, question, answer, trip, gap, note
	Code    string         `json:"code,omitempty"`
	Text    string         `json:"text,omitempty"`
	Finding *fault.Finding `json:"finding,omitempty"`
}

// Outcome is how a run ended.
type Outcome string

// The outcomes, one of which every run has.
const (
	Complete    Outcome = "complete"     // the end criterion held
	TimeRanOut  Outcome = "time-ran-out" // the longest ramp or hold passed
	Stopped     Outcome = "stopped"      // by a person
	Tripped     Outcome = "tripped"
	Interrupted Outcome = "interrupted" // the process or the power went
	Refused     Outcome = "refused"     // never energised
)

// Trip is the trip of a run as people and programs read it.
type Trip struct {
	Code    fault.Code `json:"code"`
	Message string     `json:"message"`
	Action  string     `json:"action"`

	Evidence []string     `json:"evidence,omitempty"` // what was seen of it; the message has it, too
	Confused []string     `json:"could_be,omitempty"` // what it could be taken for
	Also     []fault.Code `json:"also,omitempty"`     // later trips of the same stop: the first is the cause
}

// Result is the last line of a run. Numbers that are not known are null.
type Result struct {
	Event             string          `json:"event"` // always "result"
	Run               string          `json:"run"`
	Outcome           Outcome         `json:"outcome"`
	Trip              *Trip           `json:"trip"`
	Reasons           []string        `json:"reasons,omitempty"` // of a refusal, of a stop, or of what was cut off
	Simulated         bool            `json:"simulated"`
	TargetVolts       *float64        `json:"target_volts"`
	EndVolts          *float64        `json:"end_volts"`
	HighestVolts      *float64        `json:"highest_volts"` // of the film: what the parts are formed to
	EndCurrent        *float64        `json:"end_current_amperes"`
	EndDensity        *float64        `json:"end_current_density_ma_cm2"`
	HoldSeconds       *float64        `json:"hold_seconds"`
	RampSeconds       *float64        `json:"ramp_seconds"`
	Charge            *float64        `json:"charge_coulombs"`
	DeclaredArea      *float64        `json:"declared_area_cm2"`
	LiveArea          *float64        `json:"live_area_cm2"`
	ThicknessByVolts  *float64        `json:"thickness_by_volts_nm"`
	ThicknessByCharge *float64        `json:"thickness_by_charge_nm"`
	SeriesOhm         *float64        `json:"series_ohm"`
	EnergisedSeconds  *float64        `json:"energised_seconds"`
	ByEye             bool            `json:"by_eye,omitempty"`
	Output            string          `json:"output"` // of the supply at the end: on, off or unknown
	Findings          []fault.Finding `json:"findings"`
}

// Run is one run as the journal gives it back.
type Run struct {
	ID     string
	Intent Intent
	Rows   []Row
	Events []Event
	Result Result // Outcome Interrupted where the run was never closed
}
