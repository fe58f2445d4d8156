package review

import (
	"fmt"
	"strings"

	"anodized/controller/record"
)

// ended tells whether a run is over: of one that still goes on the end is not judged.
func ended(outcome record.Outcome) bool {
	_, known := outcomeWords[outcome]
	return known
}

// endedOf is the end of a run in words.
func endedOf(res record.Result) Ended {
	e := Ended{Outcome: res.Outcome, ByEye: res.ByEye, Trip: res.Trip}
	switch {
	case !ended(res.Outcome):
		e.Why = "not yet: it is still running, and these are its numbers so far"
	case res.Trip != nil && res.Outcome != record.Refused:
		e.Why = fmt.Sprintf("%s: %s", res.Trip.Code, res.Trip.Message)
	case res.ByEye:
		e.Why = "by a person, by eye: the colour that was wanted"
	default:
		e.Why = outcomeWords[res.Outcome]
	}
	if len(res.Reasons) > 0 {
		e.Why = strings.TrimPrefix(e.Why+": ", ": ") + strings.Join(res.Reasons, "; ")
	}
	return e
}

var outcomeWords = map[record.Outcome]string{
	record.Complete:    "the end criterion held",
	record.TimeRanOut:  "the longest ramp or hold passed: not the same film as an end by density",
	record.Stopped:     "by a person",
	record.Tripped:     "by a trip",
	record.Interrupted: "the program or the power went",
	record.Refused:     "never energised",
}

// cannotShow is what no curve of volts and amperes can show.
func cannotShow() []string {
	return []string{
		"grease, prints, stains, media smear, a mix of grades or lots, differences of finish, shading and local defects",
		"which part lost contact",
		"area apart from efficiency, or either apart from a part that was never connected",
		"a gain error of the volt reading, and ripple",
		"the colour itself, and how it was looked at",
		"anything after the lid was opened",
	}
}
