package terminal

import "anodized/hal/unit"

// Output is what is known of the supply's output.
type Output uint8

// Unknown counts as on.
const (
	Unknown Output = iota
	Off
	On
)

// Pace is what limits the run at the moment.
type Pace uint8

// The paces: neither, the volts of the plan, or the current limit.
const (
	NoPace Pace = iota
	ByVolts
	ByAmperes
)

// RGB is a colour in sRGB.
type RGB struct{ R, G, B uint8 }

// Swatch is a colour of the film. Without a name it is not known.
type Swatch struct {
	Name      string
	Colour    RGB
	Thickness unit.Nanometres
	Beyond    bool // outside the screen's gamut, shown clipped
}

// Column is the run at a moment, read or expected.
type Column struct {
	T       unit.Seconds
	Volts   unit.Volts
	Density unit.CurrentDensity
	Film    Swatch
}

// Line is something that happened at a moment.
type Line struct {
	T    unit.Seconds // NaN: no moment
	Text string
}

// View is everything that the picture shows. A number that is not known is NaN.
type View struct {
	Simulated bool
	Load      string // load, rack and profile
	Clock     string // wall clock, a label
	State     string // as in the status: "holding"
	Output    Output
	Why       string // what is waited for, or the end reason
	Left      unit.Seconds
	LeastLeft unit.Seconds
	MostLeft  unit.Seconds

	Volts    unit.Volts
	Target   unit.Volts
	Amperes  unit.Amperes
	Limit    unit.Amperes
	Density  unit.CurrentDensity
	EndAt    unit.CurrentDensity // end criterion; 0: ends by time
	LimitAt  unit.CurrentDensity
	Pace     Pace
	Age      unit.Seconds // of the reading
	Now      Swatch
	ByCharge unit.Nanometres
	Wanted   Swatch
	DE00     float64 // between now and wanted

	Past    []Column // readings, by rising time
	To      []Column // what the plan expects from now on, by rising time
	EndTime unit.Seconds

	Lines    []Line // findings and changes of state, the last one last
	Question string // an open question; its keys are said in it
	Trip     string // cause, and what to do next
	Bench    string // lid, bath, output in words
	Ended    bool   // nothing more will come: no hint how to stop
}
