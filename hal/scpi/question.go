package scpi

import (
	"fmt"
	"strings"
)

// item is one query that the driver knows how to read.
type item uint8

const (
	itemComplete item = iota
	itemSetVolts
	itemSetAmperes
	itemOutput
	itemVolts
	itemAmperes
	itemEvents
	itemError
	itemQuestionable
	itemOperation
	itemOutputTrip
	itemVoltageTrip
	itemTripLevel
	itemLostHostSwitch
	itemLostHostDelay
	itemCount
)

// headers are the queries in SCPI-99's short form. The trip level and the lost-host timer
// are the dialect's.
var headers = [itemCount]string{
	itemComplete:     "*OPC?",
	itemSetVolts:     "VOLT?",
	itemSetAmperes:   "CURR?",
	itemOutput:       "OUTP?",
	itemVolts:        "MEAS:VOLT?",
	itemAmperes:      "MEAS:CURR?",
	itemEvents:       "*ESR?",
	itemError:        "SYST:ERR?",
	itemQuestionable: "STAT:QUES:COND?",
	itemOperation:    "STAT:OPER:COND?",
	itemOutputTrip:   "OUTP:PROT:TRIP?",
	itemVoltageTrip:  "VOLT:PROT:TRIP?",
}

// question is what is asked together.
type question struct {
	items []item
	alone []byte   // all of it, on a line of its own
	after []byte   // all of it, to follow a command on its line
	lines [][]byte // one query a line
}

func (s *Supply) question(items ...item) *question {
	q := &question{items: items}
	var alone, after strings.Builder
	for i, it := range items {
		header := s.header(it)
		q.lines = append(q.lines, []byte(header))
		after.WriteString(";" + rooted(header))
		if i == 0 {
			alone.WriteString(header)
		} else {
			alone.WriteString(";" + rooted(header))
		}
	}
	q.alone, q.after = []byte(alone.String()), []byte(after.String())
	return q
}

func (s *Supply) header(it item) string {
	switch it {
	case itemTripLevel:
		return s.dialect.OVP + "?"
	case itemLostHostSwitch:
		return s.dialect.LostHostSwitch + "?"
	case itemLostHostDelay:
		return s.dialect.LostHostDelay + "?"
	}
	return headers[it]
}

// rooted makes a header start at the root of the tree, since the path of the one
// before it on the line is kept otherwise (SCPI-99).
func rooted(header string) string {
	if strings.HasPrefix(header, "*") || strings.HasPrefix(header, ":") {
		return header
	}
	return ":" + header
}

// answers holds what the last question brought.
type answers struct {
	setVolts, setAmperes float64
	volts, amperes       float64
	tripLevel            float64
	output               bool
	outputTrip           bool
	voltageTrip          bool
	lostHostSwitch       bool
	lostHostDelay        float64
	events               int
	questionable         int
	operation            int
	err                  InstrumentError
}

// read puts the answer to one query in its place.
func (a *answers) read(it item, field []byte) (err error) {
	switch it {
	case itemComplete:
		var done int
		if done, err = parseInteger(field, 1); err == nil && done != 1 {
			err = fmt.Errorf("answer %q: %w: 1 was expected", field, errGarbled)
		}
	case itemSetVolts:
		a.setVolts, err = ParseNumber(field)
	case itemSetAmperes:
		a.setAmperes, err = ParseNumber(field)
	case itemVolts:
		a.volts, err = ParseNumber(field)
	case itemAmperes:
		a.amperes, err = ParseNumber(field)
	case itemTripLevel:
		a.tripLevel, err = ParseNumber(field)
	case itemOutput:
		a.output, err = parseSwitch(field)
	case itemOutputTrip:
		a.outputTrip, err = parseSwitch(field)
	case itemVoltageTrip:
		a.voltageTrip, err = parseSwitch(field)
	case itemLostHostSwitch:
		a.lostHostSwitch, err = parseSwitch(field)
	case itemLostHostDelay:
		a.lostHostDelay, err = ParseNumber(field)
	case itemEvents:
		a.events, err = parseInteger(field, 255)
	case itemQuestionable:
		a.questionable, err = parseInteger(field, 65535)
	case itemOperation:
		a.operation, err = parseInteger(field, 65535)
	case itemError:
		a.err, err = ParseInstrumentError(field)
	case itemCount:
		err = errGarbled
	}
	return err
}
