package controller

import (
	"fmt"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
)

// slowWrite is how long a write of the record may take before it is worth a word. A
// card that is busy takes 0.1 to 0.2 s, which people report as usual (public threads).
const slowWrite = 1 // s

// keeping is what was told of the record and the clock in this load.
type keeping struct {
	found []fault.Finding
}

// beginKeeping forgets what was told of the load before.
func (s *Station) beginKeeping() {
	s.owner.keeping = keeping{}
}

func (s *Station) recordHealth() record.Health {
	if one, can := s.scribe.recorder.(Faring); can {
		return one.Health()
	}
	return record.Health{}
}

// watchRecord tells, once a load each, what the disk does to the record. No decision
// comes from it: the run goes on.
func (s *Station) watchRecord(cmd process.Command) {
	o := &s.owner
	if o.load == nil || o.load.run == "" {
		return
	}
	now := s.recordHealth()
	if now.LastWriteSeconds > slowWrite && !s.options.ClockWaits {
		s.mark(cmd, fault.JournalSlow, fmt.Sprintf("the disk took longer than %d s for a write of the record", slowWrite))
	}
	switch wait := s.options.RecordWait; {
	case now.LastError != "":
		s.mark(cmd, fault.JournalUnwritable, "the disk does not take the record, which waits in memory: "+now.LastError)
	case now.LastWriteSeconds > wait.Seconds() && !s.options.ClockWaits:
		s.mark(cmd, fault.JournalUnwritable, fmt.Sprintf("the disk took longer than %v for a write of the record, which waited in memory", wait))
	}
	if s.lostBy(now) > o.load.dropped {
		s.mark(cmd, fault.RowsDropped, "the record has no more room in memory: rows of it are lost")
	}
}

// mark keeps a finding of this load that no curve shows, and tells it once.
func (s *Station) mark(cmd process.Command, code fault.Code, evidence string) {
	o := &s.owner
	if has(o.keeping.found, code) {
		return
	}
	at := cmd.T
	if !(at > 0) { // before the first energised second
		at = 0
	}
	one := finding(code, at, evidence)
	o.keeping.found = append(o.keeping.found, one)
	s.log.Warn(evidence, "code", string(code))
	s.note(Event{Kind: KindFinding, T: number(at), State: cmd.State.String(), Code: code, Text: evidence, Action: one.Action, Finding: &one})
}

// kept are the findings of this load that the watch has no part in, for its result.
func (s *Station) kept(one *load, cmd process.Command) []fault.Finding {
	found := append([]fault.Finding(nil), s.owner.keeping.found...)
	lost := s.lost() - one.dropped
	if lost == 0 {
		return found
	}
	words := fmt.Sprintf("%d rows did not reach the journal", lost)
	for i := range found {
		if found[i].Code == fault.RowsDropped {
			found[i].Evidence = []string{words}
			return found
		}
	}
	return append(found, finding(fault.RowsDropped, cmd.T, words))
}

// lost is how many rows were dropped since the Station began: on their way to the
// recorder, and by it.
func (s *Station) lost() uint64 { return s.lostBy(s.recordHealth()) }

func (s *Station) lostBy(health record.Health) uint64 {
	return s.scribe.dropped.Load() + uint64(max(0, health.Dropped))
}

// shownFindings are all findings of the load so far.
func (s *Station) shownFindings() []fault.Finding {
	o := &s.owner
	if len(o.keeping.found) == 0 {
		return listed(o.findings)
	}
	return append(append([]fault.Finding{}, o.findings...), o.keeping.found...)
}
