package controller

import (
	"anodized/controller/process"
	"anodized/controller/record"
)

// outcomeOf maps the end of a run to its outcome; false where a state is no end.
func outcomeOf(state process.State) (record.Outcome, bool) {
	switch state {
	case process.Complete:
		return record.Complete, true
	case process.TimeRanOut:
		return record.TimeRanOut, true
	case process.Stopped:
		return record.Stopped, true
	case process.Tripped:
		return record.Tripped, true
	case process.Refused:
		return record.Refused, true
	}
	return "", false
}

// startable tells whether a load may be asked for in a state.
func startable(state process.State) error {
	switch state {
	case process.Idle, process.Complete, process.TimeRanOut, process.Stopped, process.Refused:
		return nil
	case process.Tripped:
		return ErrLatched
	}
	return ErrBusy
}

func modeName(mode process.Mode) string {
	switch mode {
	case process.ModeOff:
		return "off"
	case process.ConstantVoltage:
		return "constant-voltage"
	case process.ConstantCurrent:
		return "constant-current"
	case process.Unregulated:
		return "unregulated"
	}
	return "unknown"
}

func outputName(output process.Output) string {
	switch output {
	case process.OutputOn:
		return "on"
	case process.OutputOff:
		return "off"
	}
	return "unknown"
}
