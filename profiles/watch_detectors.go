package profiles

// Detector is one that judges the curve, by its code: what of it a profile may move, and
// what it may not, with the reason.
type Detector struct {
	Code  string
	Keys  []string // of Thresholds
	Fixed string   // "" where all of it may be moved
}

// Detectors lists them in the order in which faults are described to the shop.
func Detectors() []Detector { return append([]Detector{}, detectors...) }

var detectors = []Detector{
	{"no-contact", []string{"contact share", "formed share"}, "2 s at the volts of the check: less is noise, more colours bare parts"},
	{"contact-lost", []string{"lost share"}, "a whole rack: nine tenths of the current gone for 0.15 s, as no growth falls"},
	{"contact-intermittent", []string{"dip share", "dips"}, ""},
	{"part-missing", []string{"missing scatter"}, "five good loads of the rack at least: fewer know no scatter"},
	{"short-circuit", []string{"short share"}, "95 % of the limit, two readings; in the contact check volts that stand below 1.5 V for 0.5 s, or as long as the slowest growth takes to show above step and noise of the reading"},
	{"polarity-swapped", []string{"plates area"}, "volts below 4 V without leads and bath: no film of titanium stands there"},
	{"area-overstated", []string{"least area", "asked area"}, ""},
	{"area-understated", []string{"most area"}, "by a book's calibration 1.8, since efficiency alone reads up to 1.67 (computed)"},
	{"oxide-already-present", []string{"onset"}, ""},
	{"mixed-rack", []string{"join share"}, ""},
	{"leak-plateau", []string{"floor"}, ""},
	{"film-dissolving", []string{"floor"}, "and less than half of it in the ramp, where a resistor shows all of it"},
	{"foreign-metal-wetted", []string{"stands share"}, "2.4 s of standing, and a line that begins at 1.2 to 6 V: water splits at 1.23 V (from memory), no electrode takes more than 6 V"},
	{"breakdown", []string{"rise"}, "sags to 0.98 of the volts formed and sparks: by what growth never does, and the scatter that a run itself shows"},
	{"under-formed", []string{"target away", "most end"}, ""},
	{"over-voltage", []string{"over volts", "over share"}, "two readings; the ceiling of the profile (`ceiling`) at one"},
	{"supply-droop", []string{"droop volts", "droop share"}, "told after 0.2 s, three readings at ten a second"},
	{"supply-not-following", []string{"droop volts", "droop share", "droop time"}, "volts that stand still 0.3 V before the setpoint count as well"},
	{"supply-ripple", nil, "no reading shows it: the questions at set-up ask for it"},
	{"bath-resistance-high", []string{"most series", "end drop"}, ""},
	{"bath-resistance-low", []string{"least series"}, ""},
	{"bath-temperature-outside", []string{"bath away"}, "more than 5 K away, or beyond the bath's own file, refuses the start"},
	{"bath-temperature-drift", []string{"bath moves"}, ""},
	{"bath-temperature-unknown", nil, "60 s without a reading: a whole run warms ten litres by 0.12 K"},
	{"bath-too-hot", []string{"bath hottest"}, ""},
	{"limited-by-current", nil, "no fault: a record of what set the pace"},
	{"target-not-reached", []string{"ramp times", "ramp spare"}, "the contact check: a minute over the planned one, as long as a question stays open"},
	{"end-not-reached", nil, "`longest hold` of the end of the profile; where it is not given 180 to 900 s, twice the expected hold"},
	{"current-offset", []string{"offset share", "offset moves", "offset refused"}, ""},
	{"readback-too-coarse", []string{"end steps"}, "half of the end current refuses the start: in two steps no end is seen"},
	{"readback-gain", []string{"gain volts", "gain share"}, "for 5 s: a probe that slips is none"},
	{"readback-disagrees", []string{"disagree volts", "disagree share"}, "for 1 s, as long as a supply may be silent"},
	{"readback-stuck", []string{"stuck steps", "stuck time"}, "amperes of a hold: three steps of what surely dies away"},
	{"voltmeter-unknown", nil, "2 s, the age up to which its volts prove the cell dead"},
	{"record-gap", nil, "0.5 s: what the balance of volts and charge bridges; a second without readings is `supply-silent`"},
}
