package proof

import (
	"anodized/hal/unit"
	"anodized/profiles"
)

// Report is everything that was proven of one bench.
type Report struct {
	Bench     string     `json:"bench"` // the file, "" for the embedded bench
	Simulated bool       `json:"simulated"`
	Supply    string     `json:"supply"` // what it says it is
	Devices   []Device   `json:"devices"`
	Link      Link       `json:"link"`
	Limits    []Limit    `json:"limits"`
	Zero      Zero       `json:"zero"`
	Interlock Opening    `json:"interlock"`
	Stop      *Opening   `json:"emergency_stop"` // null where the bench has none
	Contactor *Contactor `json:"contactor"`      // null where the bench has none
	Load      *LoadTest  `json:"dummy_load"`     // null where it was not asked for
	SetUp     SetUp      `json:"set_up"`
	OK        bool       `json:"ok"`
	Wrong     []string   `json:"wrong"`      // what was measured and did not come out
	NotProven []string   `json:"not_proven"` // what was not seen
}

// Device is one device as it was read.
type Device struct {
	Name    string            `json:"name"`
	Value   string            `json:"value"`  // as a person reads it
	Values  map[string]Number `json:"values"` // the last reading, units in the names
	AgeMS   Number            `json:"age_ms"`
	Latency Latency           `json:"latency_ms"`
	Jitter  Number            `json:"jitter_ms"`
	Reads   int               `json:"reads"`
	Failed  int               `json:"failed"`
	OK      bool              `json:"ok"`
	Why     string            `json:"why"`
}

// Latency is how long an exchange takes, in ms.
type Latency struct {
	Median Number `json:"median"`
	P99    Number `json:"p99"`
	Max    Number `json:"max"`
}

// Link is what the talk of one tick takes, and how often a tick may be.
type Link struct {
	Traffic Latency `json:"tick_traffic_ms"`
	Ticks   int     `json:"ticks"`
	RateHz  int     `json:"rate_hz"` // 10, 5 or 0: refused
	Why     string  `json:"why"`
	OK      bool    `json:"ok"`
}

// Limit is one value that was written with the output off, and what the supply held.
type Limit struct {
	What  string `json:"what"` // voltage, current, over-voltage trip
	Unit  string `json:"unit"` // V or A
	Asked Number `json:"asked"`
	Held  Number `json:"held"` // asked separately after the write
	Off   bool   `json:"output_off"`
	OK    bool   `json:"ok"`
	Why   string `json:"why"`
}

// Zero is what the supply reads with its output off.
type Zero struct {
	Reads          int                    `json:"reads"`
	AmpereOffset   Number                 `json:"offset_amperes"`
	AmpereNoise    Number                 `json:"noise_amperes"` // standard deviation
	AmpereStep     Number                 `json:"step_amperes"`
	VoltOffset     Number                 `json:"offset_volts"`
	VoltNoise      Number                 `json:"noise_volts"`
	VoltStep       Number                 `json:"step_volts"`
	SmallestRack   unit.SquareCentimetres `json:"smallest_rack_cm2"` // that ends by current density
	OutputOff      bool                   `json:"output_off"`
	OK             bool                   `json:"ok"`
	Why            string                 `json:"why"`
	EndDensityUsed unit.CurrentDensity    `json:"end_current_density_ma_cm2"`
}

// Opening is what a switch of one or two contacts showed.
type Opening struct {
	Opened        [2]bool `json:"opened"` // each channel was seen open
	BothOpen      bool    `json:"both_open"`
	Closed        bool    `json:"closed_again"`
	DiscrepancyMS Number  `json:"discrepancy_ms"` // for so long at most the channels differed
	Failed        int     `json:"failed_reads"`
	Asked         bool    `json:"asked"` // a person was asked to move it
	OK            bool    `json:"ok"`
	Why           string  `json:"why"`
}

// Contactor is what the mirror contact showed; times in ms, null where it was not seen.
type Contactor struct {
	ClosesMS   Number `json:"closes_ms"` // after the first pulse
	DropMS     Number `json:"drop_ms"`   // after the drop
	LapseMS    Number `json:"lapse_ms"`  // after the last pulse
	BoundMS    Number `json:"lapse_bound_ms"`
	Resolution Number `json:"resolution_ms"`
	OK         bool   `json:"ok"`
	Tried      bool   `json:"tried"`
	Why        string `json:"why"`
}

// SetUp is what persons answered, and what their silence costs.
type SetUp struct {
	Answers *profiles.SetUp `json:"answers"`
	Missing []string        `json:"missing"`
	Narrows []Narrowing     `json:"narrows"`

	ArmsLostHost unit.Seconds `json:"arms_lost_host_s,omitempty"` // the program arms the supply's lost-host timer with this delay; 0: it does not
}
