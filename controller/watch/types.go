package watch

import "anodized/hal/unit"

// Phase is what the run is doing while it is watched.
type Phase uint8

// The phases that the estimators tell apart.
const (
	PhaseOff Phase = iota
	PhaseContactCheck
	PhaseRamp
	PhaseHold
)

// Tick is what watch sees each tick. OK is false where there is no valid reading.
type Tick struct {
	T       unit.Seconds // of the reading, since the first energised second
	OK      bool
	Volts   unit.Volts
	Amperes unit.Amperes
	Set     unit.Volts
	Limit   unit.Amperes
	Limited bool // the supply regulates current
	Phase   Phase
	Bath    unit.Celsius // worthless unless BathOK
	BathOK  bool
	Meter   Meter
}

// Estimates is what the readings so far say. A value that cannot be told yet is NaN.
type Estimates struct {
	LiveArea          unit.SquareCentimetres // as area over efficiency; see Law.Efficiency
	LiveAreaSD        unit.SquareCentimetres
	Charge            unit.Coulombs
	ChargeKnown       bool // false from the first gap in the readings on
	ThicknessByVolts  unit.Nanometres
	ThicknessByCharge unit.Nanometres
	Density           unit.CurrentDensity // filtered, on the declared area
	Current           unit.Amperes        // filtered
	Volts             unit.Volts          // filtered
	SeriesOhm         unit.Ohms
	OnsetVolts        unit.Volts
	Leak              unit.Amperes
	Softness          float64      // u of the growth law, from the decay
	SecondsLeft       unit.Seconds // to the end criterion
	LeastLeft         unit.Seconds
	MostLeft          unit.Seconds
	Noise             unit.Amperes // standard deviation of one current reading
}
