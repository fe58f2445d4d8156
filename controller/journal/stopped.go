package journal

import (
	"anodized/controller/process"
	"anodized/controller/record"
)

// What is kept as the reason of a load that was cut off after its end: why it was stopped
// went with the program.
const (
	cutAfter   = "stopped by a person; the program was cut off after that"
	nobodySaid = cutAfter + ", and nobody said whether good by eye"
)

// stoppedBefore tells whether a run that nobody closed was over already: a person had
// stopped it, it had come to rest, and only the question whether it was good by eye was
// open, or just answered with this text.
func stoppedBefore(run record.Run) (over bool, answer string) {
	asked, rest := false, false
	for _, event := range run.Events {
		switch {
		case event.Kind == "question" && event.Code == record.GoodByEye:
			asked = true
		case event.Kind == "answer" && event.Code == record.GoodByEye:
			answer = event.Text
		case event.Kind == "state":
			rest = event.Text == process.Stopped.String()
		}
	}
	return asked && rest, answer
}

// stopped closes what interrupted would be, as the stop that it was.
func stopped(result *record.Result, run record.Run, answer string) {
	result.Outcome, result.ByEye, result.Output = record.Stopped, answer == record.SeenGood, "unknown"
	if len(run.Rows) > 0 && process.Output(run.Rows[len(run.Rows)-1].Output) == process.OutputOff {
		result.Output = "off"
	}
	result.Reasons = []string{cutAfter}
	if answer == "" {
		result.Reasons = []string{nobodySaid}
	}
}
