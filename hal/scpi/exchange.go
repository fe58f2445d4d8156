package scpi

import (
	"context"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
)

// exchange sends a command, a question, or both, and puts the answers in
// s.answers. An error that leaves doubt about the next answer makes the link dirty.
func (s *Supply) exchange(ctx context.Context, command []byte, q *question) error {
	stop := s.interruptible(ctx)
	err := s.converse(ctx, command, q)
	stop()
	if err == nil {
		return nil
	}
	if ctx.Err() != nil {
		err = fmt.Errorf("an exchange with the supply was cut off: %w: %w", ctx.Err(), err)
	}
	if ctx.Err() != nil || losesStep(err) {
		s.soil(err)
	}
	return err
}

// losesStep tells whether the next line to come may be no answer to the next question.
func losesStep(err error) bool {
	return errors.Is(err, hal.ErrTimeout) || errors.Is(err, hal.ErrGone) || errors.Is(err, errGarbled)
}

func (s *Supply) converse(ctx context.Context, command []byte, q *question) error {
	if err := s.arm(ctx); err != nil {
		return err
	}
	stray, err := s.link.unasked()
	if err != nil {
		return err
	}
	if stray {
		return fmt.Errorf("%q came unasked: %w", clip(s.link.in[s.link.start:s.link.end]), errGarbled)
	}
	if len(command) > 0 && s.dialect.Compound && s.dialect.Ack == "" {
		s.line = append(append(s.line[:0], command...), q.after...)
		return s.ask(ctx, s.line, q.items)
	}
	if len(command) > 0 {
		if err := s.tell(ctx, command); err != nil {
			return err
		}
	}
	if s.dialect.Compound && len(q.items) > 0 {
		return s.ask(ctx, q.alone, q.items)
	}
	for i := range q.lines {
		if err := s.ask(ctx, q.lines[i], q.items[i:i+1]); err != nil {
			return err
		}
	}
	return nil
}

// tell sends a command and reads its acknowledgement where the dialect has one.
func (s *dialogue) tell(ctx context.Context, command []byte) error {
	if err := s.begin(ctx, command); err != nil || s.dialect.Ack == "" {
		return err
	}
	answer, err := s.link.readLine(true)
	if err != nil {
		return fmt.Errorf("read the acknowledgement of %q: %w", command, err)
	}
	if string(trimSpaces(answer)) != s.dialect.Ack {
		return fmt.Errorf("%q was answered by %q, not by %q: %w: %w", command, clip(answer), s.dialect.Ack, errGarbled, hal.ErrRefused)
	}
	return nil
}

// ask sends one line and reads as many answers as there are items. Answers to one
// line may come on several.
func (s *Supply) ask(ctx context.Context, line []byte, items []item) error {
	if err := s.begin(ctx, line); err != nil {
		return err
	}
	if err := s.collect(len(items)); err != nil {
		return fmt.Errorf("answer to %q: %w", line, err)
	}
	var first error
	for i, it := range items {
		if err := s.answers.read(it, s.fields[i]); err != nil && (first == nil || errors.Is(err, errGarbled)) {
			first = fmt.Errorf("%s: %w", s.header(it), err)
		}
	}
	return first
}

// collect reads lines until there are enough answers. More than enough is as wrong
// as none.
func (s *Supply) collect(wanted int) error {
	s.fields, s.reply = s.fields[:0], s.reply[:0]
	for len(s.fields) < wanted {
		line, err := s.link.readLine(true)
		if err != nil {
			return err
		}
		if len(s.reply)+len(line) > longestLine {
			return fmt.Errorf("more than %d bytes: %w", longestLine, errGarbled)
		}
		from := len(s.reply)
		s.reply = append(s.reply, line...)
		s.fields = splitFields(s.fields, s.reply[from:])
	}
	if len(s.fields) > wanted {
		return fmt.Errorf("%d answers to %d questions: %w", len(s.fields), wanted, errGarbled)
	}
	return nil
}

// begin waits for the gap, sets the deadline of a line, and sends it.
func (s *dialogue) begin(ctx context.Context, line []byte) error {
	s.link.pause()
	if err := s.arm(ctx); err != nil {
		return err
	}
	return s.link.send(line)
}

// arm gives the transport the time of one answer. The context is looked at after
// the deadline is set, so that a cancellation is seen by one or by the other.
func (s *dialogue) arm(ctx context.Context) error {
	if err := s.link.setDeadline(time.Now().Add(s.dialect.Timeout)); err != nil {
		return err
	}
	if ctx.Err() != nil {
		return fmt.Errorf("%w: no time left", hal.ErrTimeout)
	}
	return nil
}

// interruptible lets a cancelled context end a read that is under way. The caller
// must call what it returns before it uses the transport for anything else.
func (s *dialogue) interruptible(ctx context.Context) (stop func()) {
	if ctx.Done() == nil {
		return func() {}
	}
	transport, ended := s.link.transport, make(chan struct{})
	cancel := context.AfterFunc(ctx, func() {
		defer close(ended)
		if err := transport.SetDeadline(time.Now()); err != nil {
			s.log.Debug("could not interrupt an exchange", "err", err)
		}
	})
	return func() {
		if !cancel() {
			<-ended
		}
	}
}
