package scpi

import (
	"context"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
)

const (
	// resyncLimit is how long it may take to bring a link back into step.
	resyncLimit = time.Second
	// silence is how long a line must be quiet to count as drained.
	silence = 50 * time.Millisecond
	// tries is how often a new number is tried before a link is given up.
	tries = 3
	// longestQueue is the most entries of an error queue that are read.
	longestQueue = 64
)

// resynchronise brings a dirty link back into step, within a second, or fails with
// hal.ErrDesync (hal.ErrGone where nothing can be reached, hal.ErrTimeout where not
// one byte came back: that is silence, not a wrong answer). It leaves the output as
// it was, except on a link that broke: there "off" is the first command that an
// instrument gets, once it is known to be the same one. Where that ended a run it is
// told as hal.ErrRelinked, on a link that is in step by then; a restart is left to
// Check to tell.
func (s *Supply) resynchronise(ctx context.Context) error {
	limited, cancel := context.WithTimeout(ctx, resyncLimit)
	defer cancel()
	heard := s.link.heard
	err := s.reach(limited)
	lost := s.gone && s.mayBeOn
	if err == nil && s.gone {
		err = s.exchange(limited, commands.off, s.output)
	}
	if err == nil {
		err = s.takeStock(limited)
	}
	switch {
	case err == nil:
		s.clean, s.gone, s.told = true, false, time.Time{}
		s.log.Info("the supply's link is in step again", "output", s.answers.output)
		return s.afterBreak(lost)
	case ctx.Err() != nil, errors.Is(err, hal.ErrGone):
		return fmt.Errorf("bring the supply's link back into step: %w", err)
	case s.link.heard == heard:
		return fmt.Errorf("bring the supply's link back into step: %w: %s", hal.ErrTimeout, err.Error())
	}
	return fmt.Errorf("bring the supply's link back into step: %w: %s", hal.ErrDesync, err.Error())
}

// afterBreak tells of a link that was lost while the output may have been on.
func (s *Supply) afterBreak(lost bool) error {
	if !lost {
		return nil
	}
	s.mayBeOn = s.answers.output
	if s.restarted {
		return nil
	}
	return fmt.Errorf("the supply: %w", hal.ErrRelinked)
}

// reach makes the next answer one that can be believed.
func (s *dialogue) reach(ctx context.Context) error {
	anew := s.redial != nil && (s.gone || !s.keepOpen && (s.leave == nil || s.leave()))
	if anew {
		if err := s.reopen(ctx); err != nil {
			return err
		}
	} else if s.awaited() {
		return s.findStep(ctx) // its answer is still to come: nothing is put before "off", and it is not thrown away
	} else if err := s.drain(ctx); err != nil {
		return err
	}
	if err := s.takeControl(ctx); err != nil {
		return err
	}
	if s.dialect.Probe == "ese" {
		return s.findStep(ctx)
	}
	if !anew {
		return s.recognise(ctx)
	}
	return nil
}

// reopen makes a new connection: late answers die with the old one. Who answers
// there is asked before anything else is said.
func (s *dialogue) reopen(ctx context.Context) error {
	transport, err := s.redial(ctx)
	if err != nil {
		s.gone = true
		return fmt.Errorf("connect again: %w: %w", hal.ErrGone, err)
	}
	s.link.attach(transport)
	s.unproven, s.pending = true, pending{}
	return s.recognise(ctx)
}

// drain ends a line that was cut off and throws away what is on its way in. Without
// a new number to ask for, the longest wait for an answer must pass in silence.
func (s *dialogue) drain(ctx context.Context) error {
	if flusher, ok := s.link.transport.(Flusher); ok {
		if err := flusher.Flush(); err != nil {
			return transportError("flush the link", err)
		}
	}
	if err := s.arm(ctx); err != nil {
		return err
	}
	if err := s.link.write([]byte(s.link.sendEnd)); err != nil {
		return err
	}
	quiet := silence
	if s.dialect.Probe != "ese" {
		quiet = max(silence, s.dialect.Timeout)
	}
	until, _ := ctx.Deadline()
	return s.link.quieten(quiet, until)
}

func (s *dialogue) takeControl(ctx context.Context) error {
	stop := s.interruptible(ctx)
	defer stop()
	for _, command := range s.dialect.Enter {
		if err := s.tell(ctx, []byte(command)); err != nil {
			return err
		}
	}
	return nil
}

// findStep asks for what only a new question can answer: a random number, unlike
// the last ones, put into the event enable register (no service request is used
// here, so the register is free) and read back. All else that comes is dropped.
func (s *dialogue) findStep(ctx context.Context) error {
	stop := s.interruptible(ctx)
	defer stop()
	var err error
	for range tries {
		if err = s.tryNumber(ctx); err == nil || errors.Is(err, hal.ErrGone) || ctx.Err() != nil {
			return err
		}
	}
	return fmt.Errorf("no answer to %d new numbers: %w", tries, err)
}

// pending is a number that was asked for. An instrument that answers late does one thing
// after the other, "off" too, so while the answers to older questions still come in it
// gets no newer question for the time of two answers.
type pending struct {
	number int
	sent   time.Time // zero: none is awaited
	behind bool      // an answer to an older question came since
}

// awaited tells whether an answer to the last number is still expected.
func (s *dialogue) awaited() bool {
	p := &s.pending
	return p.behind && !p.sent.IsZero() && time.Since(p.sent) < 2*s.dialect.Timeout && !s.link.cut
}

func (s *dialogue) tryNumber(ctx context.Context) error {
	if !s.awaited() {
		s.pending = pending{number: s.number()}
		if err := s.sendNumber(ctx, s.pending.number); err != nil {
			return err
		}
		s.pending.sent = time.Now()
	}
	for {
		if err := s.armNumber(ctx); err != nil {
			return err
		}
		line, err := s.link.readLine(false)
		if err != nil {
			return err
		}
		if got, err := parseInteger(line, 255); err == nil && got == s.pending.number {
			s.pending = pending{}
			return nil
		}
		s.pending.behind = true
		s.log.Debug("dropped an answer on a dirty link", "answer", string(clip(line)))
	}
}

// armNumber gives the transport the time for which the number is awaited.
func (s *dialogue) armNumber(ctx context.Context) error {
	wait := s.dialect.Timeout
	if s.pending.behind {
		wait *= 2
	}
	if err := s.link.setDeadline(s.pending.sent.Add(wait)); err != nil {
		return err
	}
	if ctx.Err() != nil {
		return fmt.Errorf("%w: no time left", hal.ErrTimeout)
	}
	return nil
}

func (s *dialogue) sendNumber(ctx context.Context, n int) error {
	if s.dialect.Compound && s.dialect.Ack == "" {
		return s.begin(ctx, fmt.Appendf(nil, "*ESE %d;*ESE?", n))
	}
	if err := s.begin(ctx, fmt.Appendf(nil, "*ESE %d", n)); err != nil {
		return err
	}
	return s.begin(ctx, []byte("*ESE?"))
}

// newNumber returns a number from 2 to 255 that was not used in the last four tries,
// so neither a switch's answer nor the late answer to an earlier try can match.
func (s *dialogue) newNumber() int {
	n := 2 + int(uint(s.nonce())%254)
	for s.lastNonce[0] == n || s.lastNonce[1] == n || s.lastNonce[2] == n || s.lastNonce[3] == n {
		n = 2 + (n-1)%254
	}
	copy(s.lastNonce[1:], s.lastNonce[:3])
	s.lastNonce[0] = n
	return n
}

// takeStock empties the error queue, reads the events, and asks for the state.
func (s *Supply) takeStock(ctx context.Context) error {
	entries, err := s.drainErrors(ctx)
	s.backlog = append(s.backlog, entries...)
	if len(s.backlog) > longestQueue {
		s.backlog = s.backlog[len(s.backlog)-longestQueue:]
	}
	if err != nil {
		return err
	}
	if err := s.readEvents(ctx); err != nil {
		return err
	}
	return s.exchange(ctx, nil, s.state)
}

// drainErrors reads the error queue until it is empty.
func (s *Supply) drainErrors(ctx context.Context) ([]InstrumentError, error) {
	var entries []InstrumentError
	for s.errors != nil {
		if err := s.exchange(ctx, nil, s.errors); err != nil {
			return entries, err
		}
		if s.answers.err.Number == 0 {
			break
		}
		if entries = append(entries, s.answers.err); len(entries) > longestQueue {
			return entries, fmt.Errorf("the error queue gave %d entries and is not empty, the last is %w", len(entries), s.answers.err)
		}
	}
	return entries, nil
}

// readEvents reads the event register, and keeps its power-on bit for the next Check.
func (s *Supply) readEvents(ctx context.Context) error {
	s.answers.events = 0
	if s.event == nil {
		return nil
	}
	if err := s.exchange(ctx, nil, s.event); err != nil {
		return err
	}
	s.noteRestart()
	return nil
}

// Bits of the standard event status register (IEEE 488.2).
const (
	eventQueryError     = 4
	eventDeviceError    = 8
	eventExecutionError = 16
	eventCommandError   = 32
	eventPowerOn        = 128
	eventErrors         = eventQueryError | eventDeviceError | eventExecutionError | eventCommandError
)

func (s *Supply) noteRestart() {
	if s.answers.events&eventPowerOn != 0 {
		s.restarted, s.voltsSet, s.amperesSet = true, false, false
	}
}
