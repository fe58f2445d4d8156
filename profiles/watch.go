package profiles

import "fmt"

// Watch are the thresholds of the fault detectors. In a profile, 0 is the default.
type Watch struct {
	LostShare     float64 `json:"lost_share,omitempty"`
	DipShare      float64 `json:"dip_share,omitempty"`
	Dips          float64 `json:"dips,omitempty"`
	MissingSD     float64 `json:"missing_scatter,omitempty"`
	LeastArea     float64 `json:"least_area,omitempty"`
	MostArea      float64 `json:"most_area,omitempty"`
	OnsetVolts    float64 `json:"onset_volts,omitempty"`
	JoinShare     float64 `json:"join_share,omitempty"`
	FloorDensity  float64 `json:"floor_ma_cm2,omitempty"`
	MostSeries    float64 `json:"most_series,omitempty"`
	LeastSeries   float64 `json:"least_series,omitempty"`
	RiseOverLeast float64 `json:"rise_over_least,omitempty"`
	BathFar       float64 `json:"bath_far_k,omitempty"`
	BathMoves     float64 `json:"bath_moves_k,omitempty"`
	ZeroShare     float64 `json:"zero_share,omitempty"`
}

// Threshold is one of them: its key in a profile, its default with the reason, and
// how far a shop may move it.
type Threshold struct {
	Key         string
	Unit        string // "" for a share or a count
	Default     float64
	Least, Most float64
	Why         string

	of func(*Watch) *float64
}

// Of is where a set of thresholds keeps this one.
func (t Threshold) Of(w *Watch) *float64 { return t.of(w) }

// Thresholds lists what a profile may set under "watch", in the order of the detectors.
func Thresholds() []Threshold { return append([]Threshold{}, thresholds...) }

var thresholds = []Threshold{
	// Six scatters of the balance count as well (SIMULATED, 183 lost parts and 1,500 loads in
	// good order): of the three detectors before 174 were found, of the balance 182 at 6.0 and
	// 183 at 5.5, where the most in good order was 0.82 and 0.89 of the threshold.
	{"lost share", "", 0.04, 0.03, 0.10, "fall of the current that is a lost part: ten times the scatter of the means with 0.3 % of noise",
		func(w *Watch) *float64 { return &w.LostShare }},
	// Each of many dips counts from seven tenths of it and 4.2 scatters, a single one from 1.8
	// times that: at 1.3 times 6 of 1,500 loads in good order had one, at 1.8 none (SIMULATED).
	{"dip share", "", 0.02, 0.015, 0.06, "dip of the current that is a loose contact: six times the scatter of a quiet reading",
		func(w *Watch) *float64 { return &w.DipShare }},
	{"dips", "", 3, 2, 6, "dips in ten seconds that end a run: each reopening at volts draws an arc",
		func(w *Watch) *float64 { return &w.Dips }},
	{"missing scatter", "", 0.01, 0.005, 0.05, "least scatter believed of the good loads of a rack: no rack hangs better than that",
		func(w *Watch) *float64 { return &w.MissingSD }},
	{"least area", "", 0.80, 0.70, 0.93, "share of the declared area: ten per cent is ordinary by hand (common practice, no source), estimate and calibration add five each",
		func(w *Watch) *float64 { return &w.LeastArea }},
	{"most area", "", 1.18, 1.07, 1.40, "the same above",
		func(w *Watch) *float64 { return &w.MostArea }},
	{"onset", "V", 7, 5, 12, "a native film of 0.5 to 7 nm is 0.3 to 3.5 V, and reads up to 6.4 V since the current rises while it grows",
		func(w *Watch) *float64 { return &w.OnsetVolts }},
	{"join share", "", 0.04, 0.03, 0.20, "rise of the current that is a part which joins: one of twelve is twice as much",
		func(w *Watch) *float64 { return &w.JoinShare }},
	{"floor", "mA/cm2", 0.08, 0.04, 0.30, "current that does not die away: healthy racks with one per cent of noise scatter up to 0.067",
		func(w *Watch) *float64 { return &w.FloorDensity }},
	{"most series", "", 1.7, 1.5, 4.0, "series resistance over the expected: level, plates and leads move it by a fifth, dilution by twice",
		func(w *Watch) *float64 { return &w.MostSeries }},
	{"least series", "", 0.6, 0.25, 0.67, "the same below: carried-over salt halves it",
		func(w *Watch) *float64 { return &w.LeastSeries }},
	{"rise", "", 1.3, 1.15, 2.0, "current over its least at constant volts: growth never rises",
		func(w *Watch) *float64 { return &w.RiseOverLeast }},
	{"bath away", "K", 1.0, 0.5, 5.0, "from the temperature of the calibration: a quarter to a third of a per cent of film",
		func(w *Watch) *float64 { return &w.BathFar }},
	{"bath moves", "K", 0.5, 0.2, 3.0, "in a run, which warms ten litres by 0.12 K",
		func(w *Watch) *float64 { return &w.BathMoves }},
	{"offset share", "", 0.1, 0.05, 0.25, "of the end current, below which a zero does not matter",
		func(w *Watch) *float64 { return &w.ZeroShare }},
}

// Filled is the set with the default where nothing was said.
func (w Watch) Filled() Watch {
	for _, t := range thresholds {
		if to := t.of(&w); *to == 0 {
			*to = t.Default
		}
	}
	return w
}

// Moved says in words which thresholds are not their defaults.
func (w Watch) Moved() (words []string) {
	for _, t := range thresholds {
		if x := *t.of(&w); x != 0 && x != t.Default {
			words = append(words, fmt.Sprintf("%s %s in place of %s", t.Key, withUnit(x, t.Unit), withUnit(t.Default, t.Unit)))
		}
	}
	return words
}

// Check refuses a threshold beyond what may be set. A file is refused earlier, and with
// its line.
func (w Watch) Check() error {
	for _, t := range thresholds {
		if x := *t.of(&w); x != 0 && !(x >= t.Least && x <= t.Most) {
			return fmt.Errorf("watch: %s is %s: allowed is %s to %s", t.Key, withUnit(x, t.Unit), withUnit(t.Least, t.Unit), withUnit(t.Most, t.Unit))
		}
	}
	return nil
}

// watch reads the thresholds that a profile sets.
func (r *report) watch(n *node, w *Watch) {
	table := make([]field, len(thresholds))
	for i, t := range thresholds {
		table[i] = may(t.Key, number(t.of(w), t.Unit, t.Least, t.Most))
	}
	r.fields(n, "the watch of a profile", table)
}
