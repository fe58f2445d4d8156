package haltest_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math"
	"net"
	"os"
	"strconv"
	"strings"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// numbered is a supply that answers each numbered line with a line of the same number:
// "7 V 5.00" with "7 OK", "8 V?" with "8 5.00". What it cannot do it answers with "ERR"
// and a reason. A number is never used twice, so a late answer is seen to be late.
type numbered struct {
	conn           net.Conn // not ours to close
	in             *bufio.Reader
	limits         hal.Limits
	last           int
	volts, amperes bool // both setpoints hold since the link last failed
}

// openNumbered switches off before it asks anything.
func openNumbered(ctx context.Context, conn net.Conn, limits hal.Limits) (*numbered, error) {
	s := &numbered{conn: conn, in: bufio.NewReader(conn), limits: limits}
	if err := s.Halt(ctx); err != nil {
		return nil, fmt.Errorf("open the supply: %w", err)
	}
	return s, nil
}

func (s *numbered) Limits() hal.Limits { return s.limits }

func (s *numbered) Identify(ctx context.Context) (hal.Identity, error) {
	answer, err := s.ask(ctx, "WHO?")
	parts := strings.Split(answer, ",")
	if err != nil || len(parts) != 3 {
		return hal.Identity{}, errors.Join(err, fmt.Errorf("ask who it is: %q", answer))
	}
	return hal.Identity{Maker: parts[0], Model: parts[1], Serial: parts[2]}, nil
}

func (s *numbered) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	held, err := s.set(ctx, "V", float64(v), float64(s.limits.HighestVolts), float64(s.limits.VoltStep), &s.volts)
	return unit.Volts(held), err
}

func (s *numbered) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	held, err := s.set(ctx, "A", float64(a), float64(s.limits.HighestAmperes), float64(s.limits.AmpereStep), &s.amperes)
	return unit.Amperes(held), err
}

// set rounds down to a step, sends, reads back and compares.
func (s *numbered) set(ctx context.Context, what string, want, highest, step float64, holds *bool) (float64, error) {
	if !(want >= 0 && want <= highest) { // not a number fails too
		return math.NaN(), fmt.Errorf("set %s to %v: %w: 0 to %v", what, want, hal.ErrRange, highest)
	}
	*holds = false
	want = math.Floor(want/step+1e-6) * step
	if _, err := s.ask(ctx, fmt.Sprintf("%s %.3f", what, want)); err != nil {
		return math.NaN(), fmt.Errorf("set %s to %.3f: %w", what, want, err)
	}
	held, err := s.number(ctx, what+"?")
	if err != nil {
		return math.NaN(), fmt.Errorf("read %s back: %w", what, err)
	}
	if math.Abs(held-want) > step/2 {
		return math.NaN(), fmt.Errorf("set %s to %.3f, it holds %.3f: %w", what, want, held, hal.ErrMismatch)
	}
	*holds = true
	return held, nil
}

func (s *numbered) Energise(ctx context.Context) error {
	if !s.volts || !s.amperes {
		return fmt.Errorf("switch on: %w: set volts and amperes first", hal.ErrRefused)
	}
	if _, err := s.ask(ctx, "ON"); err != nil {
		return fmt.Errorf("switch on: %w", err)
	}
	on, err := s.Energised(ctx)
	if err == nil && !on {
		err = fmt.Errorf("switch on: %w: it stays off", hal.ErrMismatch)
	}
	return err
}

func (s *numbered) Energised(ctx context.Context) (bool, error) {
	state, err := s.number(ctx, "ON?")
	return err != nil || state != 0, err
}

// Halt sends off whatever became of the context, and has it confirmed.
func (s *numbered) Halt(ctx context.Context) error {
	ctx = context.WithoutCancel(ctx)
	if _, err := s.ask(ctx, "OFF"); err != nil {
		return fmt.Errorf("switch off: %w", err)
	}
	on, err := s.Energised(ctx)
	if err == nil && on {
		err = fmt.Errorf("switch off: %w: it stays on", hal.ErrMismatch)
	}
	return err
}

func (s *numbered) Measure(ctx context.Context) (hal.Sample, error) {
	began := time.Now()
	answer, err := s.ask(ctx, "M?")
	took := time.Since(began)
	none := hal.Sample{Volts: unit.Volts(math.NaN()), Amperes: unit.Amperes(math.NaN())}
	if err != nil {
		return none, fmt.Errorf("measure: %w", err)
	}
	first, second, _ := strings.Cut(answer, " ")
	volts, err := finite(first)
	amperes, err2 := finite(second)
	if err := errors.Join(err, err2); err != nil {
		return none, fmt.Errorf("measure: %w", err)
	}
	return hal.Sample{Volts: unit.Volts(volts), Amperes: unit.Amperes(amperes), At: began.Add(took / 2), Took: took}, nil
}

func (s *numbered) Check(ctx context.Context) (hal.State, error) {
	volts, err := s.number(ctx, "V?")
	if err != nil {
		return hal.State{}, err
	}
	amperes, err := s.number(ctx, "A?")
	if err != nil {
		return hal.State{}, err
	}
	on, err := s.Energised(ctx)
	return hal.State{SetVolts: unit.Volts(volts), LimitAmperes: unit.Amperes(amperes), Output: on}, err
}

func (s *numbered) number(ctx context.Context, question string) (float64, error) {
	answer, err := s.ask(ctx, question)
	if err != nil {
		return math.NaN(), err
	}
	return finite(answer)
}

// finite reads a number; 9.9E37 and more is how instruments say that they have none.
func finite(text string) (float64, error) {
	value, err := strconv.ParseFloat(text, 64)
	if err != nil || !(math.Abs(value) < 9e37) {
		return math.NaN(), fmt.Errorf("%q: %w", text, hal.ErrNoReading)
	}
	return value, nil
}

// ask is one exchange. Answers to other numbers came late and are dropped.
func (s *numbered) ask(ctx context.Context, question string) (string, error) {
	if err := s.conn.SetDeadline(time.Now().Add(s.limits.Exchange)); err != nil {
		return "", s.failed(ctx, err)
	}
	stop := context.AfterFunc(ctx, func() { _ = s.conn.SetDeadline(time.Now()) }) // the read tells
	defer stop()
	s.last++
	if _, err := fmt.Fprintf(s.conn, "%d %s\n", s.last, question); err != nil {
		return "", s.failed(ctx, err)
	}
	for {
		line, err := s.in.ReadString('\n')
		if err != nil {
			return "", s.failed(ctx, err)
		}
		number, answer, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
		if number != strconv.Itoa(s.last) {
			continue
		}
		if reason, refused := strings.CutPrefix(answer, "ERR "); refused {
			return "", fmt.Errorf("%w: %s", hal.ErrRefused, reason)
		}
		return answer, nil
	}
}

// failed says what the Station decides from, and that nothing holds any more.
func (s *numbered) failed(ctx context.Context, err error) error {
	s.volts, s.amperes = false, false
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return errors.Join(hal.ErrTimeout, ctx.Err())
	}
	return fmt.Errorf("%w: %w", hal.ErrGone, err)
}
