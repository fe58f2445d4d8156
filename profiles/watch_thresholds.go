package profiles

// thresholds are in the order of the detectors. Each has the reason of its default, and why
// it may be moved no further either way.
var thresholds = []Threshold{
	// Six scatters of the balance count as well (SIMULATED, 183 lost parts and 1,500 loads in
	// good order): of the three detectors before 174 were found, of the balance 182 at 6.0 and
	// 183 at 5.5, where the most in good order was 0.82 and 0.89 of the threshold.
	{"lost share", "", 0.04, 0.03, 0.10, "fall of the current that is a lost part: ten times the scatter of the means with 0.3 % of noise",
		"0.03 is seven and a half of those scatters; above 0.1 a part of ten falls unseen",
		func(w *Watch) *float64 { return &w.LostShare }},
	// Each of many dips counts from seven tenths of it and 4.2 scatters, a single one from 1.8
	// times that: at 1.3 times 6 of 1,500 loads in good order had one, at 1.8 none (SIMULATED).
	{"dip share", "", 0.02, 0.015, 0.06, "dip of the current that is a loose contact: six times the scatter of a quiet reading",
		"0.015 is four and a half of those scatters; at 0.06 dips of less than four per cent are not counted",
		func(w *Watch) *float64 { return &w.DipShare }},
	{"dips", "", 3, 2, 6, "dips in ten seconds that end a run: each reopening at volts draws an arc",
		"a single one ends nothing; no more than six arcs is our choice",
		func(w *Watch) *float64 { return &w.Dips }},
	{"missing scatter", "", 0.01, 0.005, 0.05, "least scatter believed of the good loads of a rack: no rack hangs better than that",
		"with five good loads 0.005 tells a rack that lacks 2.5 % of its area, 0.05 only one that lacks 25 % (computed)",
		func(w *Watch) *float64 { return &w.MissingSD }},
	{"least area", "", 0.80, 0.70, 0.93, "share of the declared area: ten per cent is ordinary by hand (common practice, no source), estimate and calibration add five each",
		"0.93 is what a load in good order may behave like; below 0.7 the question of the contact check comes first",
		func(w *Watch) *float64 { return &w.LeastArea }},
	{"most area", "", 1.18, 1.07, 1.40, "the same above",
		"1.07 is 1/0.93; a forgotten bore behaves like 1.56 times the area, and has to be told",
		func(w *Watch) *float64 { return &w.MostArea }},
	{"onset", "V", 7, 5, 12, "a native film of 0.5 to 7 nm is 0.3 to 3.5 V, and reads up to 6.4 V since the current rises while it grows",
		"below 5 V native films would be told; from 12 V on a lost part is judged, against a film that must be known",
		func(w *Watch) *float64 { return &w.OnsetVolts }},
	{"join share", "", 0.04, 0.03, 0.20, "rise of the current that is a part which joins: one of twelve is twice as much",
		"0.03 as for a lost share; at 0.2 a part of five joins unseen",
		func(w *Watch) *float64 { return &w.JoinShare }},
	{"floor", "mA/cm2", 0.08, 0.04, 0.30, "current that does not die away: healthy racks with one per cent of noise scatter up to 0.067",
		"0.04 asks for a bench of little noise; 0.3 is twice the end of a usual profile",
		func(w *Watch) *float64 { return &w.FloorDensity }},
	{"most series", "", 1.7, 1.5, 4.0, "series resistance over the expected: level, plates and leads move it by a fifth, dilution by twice",
		"a fifth twice is 1.44; beyond 4 it is no bath but a contact",
		func(w *Watch) *float64 { return &w.MostSeries }},
	{"least series", "", 0.6, 0.25, 0.67, "the same below: carried-over salt halves it",
		"salt that halves it twice leaves 0.25; 0.67 is 1/1.5",
		func(w *Watch) *float64 { return &w.LeastSeries }},
	{"rise", "", 1.3, 1.15, 2.0, "current over its least at constant volts: growth never rises",
		"a leak that begins may add a seventh; a current that doubles is no noise of any bench",
		func(w *Watch) *float64 { return &w.RiseOverLeast }},
	{"bath away", "K", 1.0, 0.5, 5.0, "from the temperature of the calibration: a quarter to a third of a per cent of film",
		"0.5 K is the error of an ordinary thermometer (common practice, no source); 5 K refuse the start",
		func(w *Watch) *float64 { return &w.BathFar }},
	{"bath moves", "K", 0.5, 0.2, 3.0, "in a run, which warms ten litres by 0.12 K",
		"0.12 K is no fault; 3 K are one per cent of film",
		func(w *Watch) *float64 { return &w.BathMoves }},
	{"offset share", "", 0.1, 0.05, 0.25, "of the end current, below which a zero does not matter",
		"below a twentieth two steps of the reading count anyway; from a quarter on the end moves",
		func(w *Watch) *float64 { return &w.ZeroShare }},
}
