package profiles

import "fmt"

// Watch are the thresholds of the fault detectors. In a profile, 0 is the default.
type Watch struct {
	LostShare     float64 `json:"lost_share,omitempty"`
	DipShare      float64 `json:"dip_share,omitempty"`
	Dips          float64 `json:"dips,omitempty"`
	MissingSD     float64 `json:"missing_scatter,omitempty"`
	ContactShare  float64 `json:"contact_share,omitempty"`
	FormedShare   float64 `json:"formed_share,omitempty"`
	ShortShare    float64 `json:"short_share,omitempty"`
	PlatesArea    float64 `json:"plates_area,omitempty"`
	LeastArea     float64 `json:"least_area,omitempty"`
	AskedArea     float64 `json:"asked_area,omitempty"`
	MostArea      float64 `json:"most_area,omitempty"`
	OnsetVolts    float64 `json:"onset_volts,omitempty"`
	JoinShare     float64 `json:"join_share,omitempty"`
	StandsShare   float64 `json:"stands_share,omitempty"`
	FloorDensity  float64 `json:"floor_ma_cm2,omitempty"`
	MostSeries    float64 `json:"most_series,omitempty"`
	LeastSeries   float64 `json:"least_series,omitempty"`
	EndDrop       float64 `json:"end_drop_v,omitempty"`
	RiseOverLeast float64 `json:"rise_over_least,omitempty"`
	TargetAway    float64 `json:"target_away_v,omitempty"`
	MostEnd       float64 `json:"most_end,omitempty"`
	OverVolts     float64 `json:"over_volts,omitempty"`
	OverShare     float64 `json:"over_share,omitempty"`
	DroopVolts    float64 `json:"droop_volts,omitempty"`
	DroopShare    float64 `json:"droop_share,omitempty"`
	DroopTime     float64 `json:"droop_time_s,omitempty"`
	RampTimes     float64 `json:"ramp_times,omitempty"`
	RampSpare     float64 `json:"ramp_spare_s,omitempty"`
	BathFar       float64 `json:"bath_far_k,omitempty"`
	BathMoves     float64 `json:"bath_moves_k,omitempty"`
	BathHottest   float64 `json:"bath_hottest_c,omitempty"`
	ZeroShare     float64 `json:"zero_share,omitempty"`
	OffsetMoves   float64 `json:"offset_moves,omitempty"`
	OffsetRefused float64 `json:"offset_refused,omitempty"`
	EndSteps      float64 `json:"end_steps,omitempty"`
	GainVolts     float64 `json:"gain_volts,omitempty"`
	GainShare     float64 `json:"gain_share,omitempty"`
	DisagreeVolts float64 `json:"disagree_volts,omitempty"`
	DisagreeShare float64 `json:"disagree_share,omitempty"`
	StuckSteps    float64 `json:"stuck_steps,omitempty"`
	StuckTime     float64 `json:"stuck_time_s,omitempty"`
}

// Threshold is one of them: its key in a profile, its default with the reason, and
// how far a shop may move it.
type Threshold struct {
	Key         string
	Unit        string // "" for a share or a count
	Default     float64
	Least, Most float64
	Why         string
	Further     string // why it may be moved no further

	of func(*Watch) *float64
}

// Of is where a set of thresholds keeps this one.
func (t Threshold) Of(w *Watch) *float64 { return t.of(w) }

// Thresholds lists what a profile may set under "watch", in the order of the detectors.
func Thresholds() []Threshold { return append([]Threshold{}, thresholds...) }

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
