package controller

import (
	"fmt"
	"strings"

	"anodized/controller/fault"
	"anodized/controller/process"
)

// runWords are the numbers of a trip that the load itself gave: those of the watch, or what
// was read and set at that moment.
func (s *Station) runWords(code fault.Code) string {
	for _, found := range s.machine.Findings() {
		if found.Code == code {
			return strings.Join(found.Evidence, "; ")
		}
	}
	switch code {
	case fault.ShortCircuit:
		return s.readWords() + s.limitWords() + s.formedWords()
	case fault.OverVoltage:
		return s.readWords() + s.setWords() + s.ceilingWords()
	case fault.NoContact:
		return s.readWords() + s.provenWords()
	case fault.SupplyNotFollowing, fault.ReadbackStuck:
		return s.readWords() + s.setWords() + s.limitWords()
	case fault.BathTooHot:
		return fmt.Sprintf("the bath is at %.1f C", float64(s.owner.input.Bath.Celsius))
	case fault.NotAnswered:
		return fmt.Sprintf("%s was asked for %.0f s, at %.4g V", s.owner.last.Question, float64(process.AnswerTime), float64(s.owner.last.Set))
	}
	return ""
}

// readWords are the volts and amperes of this tick.
func (s *Station) readWords() string {
	return fmt.Sprintf("%s V and %s A are read", spelt(s.volts()), spelt(s.amperes()))
}

func (s *Station) setWords() string {
	return fmt.Sprintf(", %.4g V were set", float64(s.owner.last.Set))
}

func (s *Station) limitWords() string {
	return fmt.Sprintf(", the current limit is %.4g A", float64(s.owner.last.Limit))
}

// formedWords say how far the film of these parts is known to have come.
func (s *Station) formedWords() string {
	if sum, energised := s.machine.Summary(); energised && number(sum.HighestVolts).Known() {
		return fmt.Sprintf("; the film had grown to %.4g V", float64(sum.HighestVolts))
	}
	return ""
}

func (s *Station) ceilingWords() string {
	if view := s.owner.view; view != nil {
		return fmt.Sprintf(", the ceiling of the plan is %.4g V", float64(view.Request.Plan.CeilingVolts))
	}
	return ""
}

// provenWords say which current would have been a contact.
func (s *Station) provenWords() string {
	if view := s.owner.view; view != nil {
		return fmt.Sprintf("; %.3g A are wanted", float64(view.Request.Plan.ContactCheck.NoContact))
	}
	return ""
}

// mirrorWords compare the mirror contact with the pulses.
func (s *Station) mirrorWords() sight {
	in := &s.owner.input
	sent := "it gets no pulses"
	if s.owner.last.Close {
		sent = "it is pulsed"
	}
	switch {
	case !in.Contactor.OK:
		return sight{"The mirror contact of the contactor could not be read: where the contactor is, is not known.",
			fmt.Sprintf("%s, and %s", sent, s.unreadWords("mirror contact", in.Contactor.At, nil))}
	case in.Contactor.Closed:
		return sight{text: sent + ", and its mirror contact says closed"}
	}
	return sight{text: sent + ", and its mirror contact says open"}
}
