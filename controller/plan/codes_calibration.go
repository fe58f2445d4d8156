package plan

// The codes of warnings about a calibration that does not quite fit a load.
const (
	CalibrationStale            = "calibration-stale"
	CalibrationExtrapolated     = "calibration-extrapolated"
	CalibrationOtherFinish      = "calibration-other-finish"
	CalibrationOtherTemperature = "calibration-other-temperature"
	CalibrationPoor             = "calibration-poor"
	TemperatureConvertsNothing  = "bath-temperature-converts-nothing"
	BathNotRead                 = "bath-not-read"
)
