package scpi

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"anodized/hal"
)

var errUnsupported = errors.New("the instrument does not know this query")

// explore asks once for everything that will be asked later, with the output off.
// An unknown query is met with silence, so each gap costs one time-out at most.
func (s *Supply) explore(ctx context.Context, compound bool) error {
	for _, it := range []item{itemSetVolts, itemSetAmperes, itemVolts, itemAmperes} {
		ok, err := s.has(ctx, it)
		if err != nil {
			return err
		}
		if !ok {
			return fmt.Errorf("the instrument does not answer %s, which is required of a supply: %w", s.header(it), hal.ErrRefused)
		}
	}
	if err := s.exploreCompound(ctx, compound); err != nil {
		return err
	}
	return s.exploreOptions(ctx)
}

// exploreCompound sees whether two queries on one line get two answers.
func (s *Supply) exploreCompound(ctx context.Context, wanted bool) error {
	if !wanted {
		return nil
	}
	s.dialect.Compound = true
	err := s.exchange(ctx, nil, s.question(itemSetVolts, itemSetAmperes))
	if err == nil {
		return nil
	}
	s.dialect.Compound = false
	s.log.Warn("the supply does not take two queries on one line: each gets its own", "err", err)
	return s.regain(ctx, err)
}

func (s *Supply) exploreOptions(ctx context.Context) error {
	options := []struct {
		wanted bool
		items  []item
		lack   func()
	}{
		{true, []item{itemEvents}, nil},
		{s.dialect.OPC, []item{itemComplete}, func() { s.dialect.OPC = false }},
		{s.dialect.Errors == "queue", []item{itemError}, s.withoutQueue},
		{true, s.statusItems(), func() { s.dialect.Status = "none" }},
		{s.dialect.OVP != "none", []item{itemTripLevel}, func() { s.dialect.OVP = "none" }},
		{true, []item{itemOutputTrip}, nil},
		{true, []item{itemVoltageTrip}, nil},
	}
	for _, option := range options {
		if !option.wanted {
			continue
		}
		if err := s.exploreOption(ctx, option.items, option.lack); err != nil {
			return err
		}
	}
	return s.exploreLostHost(ctx)
}

func (s *Supply) exploreOption(ctx context.Context, items []item, lack func()) error {
	for _, it := range items {
		ok, err := s.has(ctx, it)
		switch {
		case err != nil:
			return err
		case ok:
			s.remember(it)
		case lack != nil:
			s.log.Warn("the supply lacks a query that its dialect promises: it is done without", "query", s.header(it))
			lack()
			return nil
		}
	}
	return nil
}

func (s *Supply) remember(it item) {
	switch it {
	case itemEvents:
		s.event = s.question(itemEvents)
	case itemOutputTrip, itemVoltageTrip:
		s.hasTrips = append(s.hasTrips, it)
	}
}

// withoutQueue makes do with the event register, or with read-back alone.
func (s *Supply) withoutQueue() {
	s.dialect.Errors = "none"
	if s.event != nil {
		s.dialect.Errors = "esr"
	}
}

// has tells whether the instrument answers a query, and regains the step where not.
func (s *Supply) has(ctx context.Context, it item) (bool, error) {
	err := s.tryQuery(ctx, it)
	if err == nil || errors.Is(err, hal.ErrNoReading) && !errors.Is(err, errGarbled) {
		return true, nil
	}
	s.log.Debug("query not answered", "query", s.header(it), "err", err)
	return false, s.regain(ctx, err)
}

// regain finds the step after a query that was not answered. The connection is good.
func (s *Supply) regain(ctx context.Context, err error) error {
	switch {
	case errors.Is(err, errUnsupported):
		return nil // its companion was answered
	case errors.Is(err, hal.ErrGone) || ctx.Err() != nil:
		return err
	}
	limited, cancel := context.WithTimeout(ctx, resyncLimit)
	defer cancel()
	if s.dialect.Probe == "ese" {
		err = s.findStep(limited)
	} else {
		err = s.reach(limited)
	}
	s.clean = err == nil
	return err
}

// tryQuery asks one query. Where it can, it asks for the last new number on the same
// line: if that alone comes back, the query is unknown, and no time is lost.
func (s *Supply) tryQuery(ctx context.Context, it item) error {
	if !s.dialect.Compound || s.dialect.Ack != "" || s.dialect.Probe != "ese" {
		return s.exchange(ctx, nil, s.question(it))
	}
	stop := s.interruptible(ctx)
	defer stop()
	if err := s.begin(ctx, []byte(s.header(it)+";*ESE?")); err != nil {
		return err
	}
	fields, err := s.readUntil(s.lastNonce[0])
	switch {
	case err != nil:
		return err
	case len(fields) == 0:
		return errUnsupported
	case len(fields) > 1:
		return fmt.Errorf("%d answers to one query: %w", len(fields), errGarbled)
	}
	return s.answers.read(it, fields[0])
}

// readUntil reads lines until one ends in the number, and returns what came before it.
func (s *Supply) readUntil(number int) ([][]byte, error) {
	var fields [][]byte
	for len(fields) <= int(itemCount) {
		line, err := s.link.readLine(true)
		if err != nil {
			return nil, err
		}
		fields = splitFields(fields, bytes.Clone(line))
		last := len(fields) - 1
		if got, err := parseInteger(fields[last], 255); err == nil && got == number {
			return fields[:last], nil
		}
	}
	return nil, errGarbled
}
