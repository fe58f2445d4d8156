package scpi

import (
	"context"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
)

// Open takes over an instrument. The first bytes that it sends switch the output
// off; then it confirms that, asks who is there, and asks once for everything that
// it will ask later. An optional query that stays unanswered is done without, and
// the log says so; a required one is an error that names it. The caller keeps the
// transport and closes it after Halt and Release.
func Open(ctx context.Context, o Options) (*Supply, error) {
	s, err := newSupply(o)
	if err != nil {
		return nil, err
	}
	compound := s.dialect.Compound
	s.dialect.Compound = false // until it has been seen to work
	s.output = s.question(itemOutput)
	for _, step := range []func(context.Context) error{
		s.firstContact, s.confirmHalted, s.introduce,
		func(ctx context.Context) error { return s.explore(ctx, compound) },
		s.startClean,
	} {
		if err := step(ctx); err != nil {
			return nil, fmt.Errorf("open the supply: %w", err)
		}
	}
	return s, nil
}

// firstContact switches off blind and finds the step. Where the instrument does not
// know the event enable register, its identity has to do.
func (s *Supply) firstContact(ctx context.Context) error {
	s.haltBlind()
	if s.gone {
		return fmt.Errorf("%w: nothing can be sent to it", hal.ErrGone)
	}
	if s.dialect.Echo || s.dialect.Ack != "" {
		if err := s.link.quieten(silence, time.Now().Add(resyncLimit)); err != nil {
			return err
		}
	}
	if err := s.takeControl(ctx); err != nil {
		return err
	}
	if s.dialect.Probe != "ese" {
		return s.recognise(ctx) // the connection is new: nothing old can be on its way
	}
	err := s.findStep(ctx)
	if err == nil || errors.Is(err, hal.ErrGone) || ctx.Err() != nil {
		return err
	}
	s.dialect.Probe = "idn"
	s.log.Warn("the supply does not answer *ESE?: its identity is asked instead to find the step again", "err", err)
	limited, cancel := context.WithTimeout(ctx, resyncLimit)
	defer cancel()
	if err := s.reach(limited); err != nil {
		return fmt.Errorf("the instrument does not answer; look at its address, its cable, and the dialect keys send_end, reply_end, echo and enter: %w", err)
	}
	return nil
}

// confirmHalted shows that the output is off before anything else is asked.
func (s *Supply) confirmHalted(ctx context.Context) error {
	s.clean = true
	if err := s.halt(ctx); err != nil {
		return fmt.Errorf("%w (OUTP OFF and OUTP? are required of a supply)", err)
	}
	return ctx.Err()
}

func (s *Supply) introduce(ctx context.Context) error {
	if s.known && s.dialect.Probe != "ese" {
		return nil // it was asked in reach
	}
	if err := s.recognise(ctx); err != nil {
		return fmt.Errorf("%w (*IDN? is required of a supply)", err)
	}
	return nil
}

// startClean empties what the past and the exploring left in queue and registers.
func (s *Supply) startClean(ctx context.Context) error {
	s.prepareQuestions()
	entries, err := s.drainErrors(ctx)
	if err != nil {
		return err
	}
	for _, entry := range entries {
		s.log.Debug("an error in the queue at opening", "entry", entry.Error())
	}
	if err := s.readEvents(ctx); err != nil {
		return err
	}
	s.restarted, s.gone = false, false
	s.log.Info("supply open", "maker", s.identity.Maker, "model", s.identity.Model, "serial", s.identity.Serial,
		"compound", s.dialect.Compound, "opc", s.dialect.OPC, "errors", s.dialect.Errors, "status", s.dialect.Status, "ovp", s.dialect.OVP)
	return nil
}

// prepareQuestions writes down once what is asked again and again.
func (s *Supply) prepareQuestions() {
	status := s.statusItems()
	s.measure = s.question(append([]item{itemVolts, itemAmperes}, status...)...)
	s.confirmVolts, s.confirmAmperes = s.confirming(itemSetVolts), s.confirming(itemSetAmperes)
	s.askVolts, s.askAmperes = s.question(itemSetVolts), s.question(itemSetAmperes)
	s.leanVolts, s.leanAmperes = s.question(s.completing(itemSetVolts)...), s.question(s.completing(itemSetAmperes)...)
	s.state = s.question(itemOutput, itemSetVolts, itemSetAmperes)
	check := []item{itemSetVolts, itemSetAmperes, itemOutput}
	if s.event != nil {
		check = append(check, itemEvents)
	}
	if s.dialect.Errors == "queue" {
		check, s.errors = append(check, itemError), s.question(itemError)
	}
	s.check = s.question(append(append(check, status...), s.hasTrips...)...)
	s.limits.Exchange = s.exchangeTime()
}

func (s *Supply) exchangeTime() time.Duration {
	one := s.dialect.Timeout + s.dialect.Gap
	if s.dialect.Compound {
		return one
	}
	return one * time.Duration(len(s.measure.items))
}

// completing asks for a read-back once the command before it is done.
func (s *Supply) completing(readBack item) []item {
	if s.dialect.OPC {
		return []item{itemComplete, readBack}
	}
	return []item{readBack}
}

// confirming asks for a read-back together with what shows that the command before
// it was taken.
func (s *Supply) confirming(readBack item) *question {
	items := s.completing(readBack)
	switch {
	case s.dialect.Errors == "queue":
		items = append(items, itemError)
	case s.dialect.Errors == "esr":
		items = append(items, itemEvents)
	}
	return s.question(items...)
}

func (s *Supply) statusItems() []item {
	switch s.dialect.Status {
	case "questionable", "summary":
		return []item{itemQuestionable}
	case "operation":
		return []item{itemQuestionable, itemOperation}
	}
	return nil
}

// Release gives the instrument back to its panel. It is for the one who closes,
// after Halt.
func (s *Supply) Release(ctx context.Context) error {
	if err := s.own(); err != nil {
		return err
	}
	defer s.disown()
	for _, command := range s.dialect.Leave {
		if err := s.exchange(ctx, []byte(command), &question{}); err != nil {
			return fmt.Errorf("give the supply back to its panel: %w", err)
		}
	}
	return nil
}
