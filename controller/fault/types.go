package fault

// Code is a stable name of a trip or a finding.
type Code string

// Trip is one row of the table of trips.
type Trip struct {
	Code     Code
	Message  string   // cause, in the words of the shop
	Action   string   // what the person does next
	Confused []string // what it could be taken for
}

// Severity says who should look at a finding.
type Severity string

// The severities of findings.
const (
	Record  Severity = "record"  // kept, not announced
	Warning Severity = "warning" // somebody should look
	Fault   Severity = "fault"   // the result is not what was planned
)

// Kind is one row of the table of findings.
type Kind struct {
	Code     Code
	Severity Severity
	Action   string
	Confused []string
}

// Finding is something that was seen in a run.
type Finding struct {
	Code       Code     `json:"code"`
	Severity   Severity `json:"severity"`
	AtSeconds  float64  `json:"at_s"`
	Evidence   []string `json:"evidence"`
	Confidence string   `json:"confidence"` // certain, likely, possible
	Action     string   `json:"action"`
	Confused   []string `json:"could_be,omitempty"` // what it could be taken for
}
