package plan

import (
	"fmt"
	"strconv"

	"anodized/hal/unit"
)

// The codes of warnings. Each message says what to do.
const (
	LimitedBySupply       = "limited-by-supply"
	LimitedByCurrent      = "limited-by-current"
	HighCurrentDensity    = "high-current-density"
	SupplyStepTooCoarse   = "tolerance-below-supply-step"
	SupplyNotStarvable    = "supply-not-starvable"
	ReadbackTooCoarse     = "readback-too-coarse"
	HoldWillRunOut        = "hold-will-run-out"
	EndNotSustained       = "end-not-sustained"
	SeriesDrop            = "series-drop"
	CeilingTight          = "ceiling-tight"
	GuardRequired         = "guard-required"
	BookCalibration       = "book-calibration"
	CalibrationOtherEnd   = "calibration-other-end"
	CalibrationOtherMetal = "calibration-other-metal"
	CalibrationOtherBath  = "calibration-other-bath"
	ProfileOtherMetal     = "profile-other-metal"
	ProfileOtherBath      = "profile-other-bath"
	IndicativeMetal       = "indicative-metal"
	ColourNotReachable    = "colour-not-reachable"
	ColourOutOfGamut      = "colour-out-of-gamut"
	LookAlike             = "look-alike"
	FormedRack            = "formed-rack"
	ContactBelowReading   = "contact-below-reading"
	ContactNotProvable    = "contact-of-each-part-not-provable"
	AreaUncertain         = "area-uncertain"
	MixedHeatNumbers      = "mixed-heat-numbers"
	MixedFinishes         = "mixed-finishes"
	Simulated             = "simulated"
	AttendedOnly          = "attended-only"
	JobStage              = "job-stage"
	RisingOrder           = "rising-order"
	ColouredGrows         = "coloured-grows-on"
	ColouredDraws         = "coloured-still-draws"
	ThresholdsMoved       = "thresholds-moved"
)

func warn(code, format string, args ...any) Warning {
	for i, arg := range args {
		args[i] = shown(arg)
	}
	return Warning{Code: code, Message: fmt.Sprintf(format, args...)}
}

// shown rounds what is a quantity for people.
func shown(arg any) any {
	switch q := arg.(type) {
	case unit.Volts:
		return show(q)
	case unit.Amperes:
		return show(q)
	case unit.Seconds:
		return show(q)
	case unit.CurrentDensity:
		return show(q)
	case unit.VoltsPerSecond:
		return show(q)
	}
	return arg
}

// show writes a quantity with at most four digits, for people.
func show[T unit.Quantity](q T) string {
	return strconv.FormatFloat(rounded(float64(q)), 'f', -1, 64) + " " + unit.Symbol[T]()
}

// rounded keeps four digits and never an exponent.
func rounded(x float64) float64 {
	short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 4, 64), 64)
	if err != nil {
		return x // cannot be: what FormatFloat writes, ParseFloat reads
	}
	return short
}
