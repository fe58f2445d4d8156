package scpi

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// The defaults of a meter: one question of the standard, and an answer time that a slow
// integration fits in.
const (
	DefaultVoltsQuery   = "MEAS:VOLT:DC?"
	DefaultMeterTimeout = time.Second
)

// VoltmeterOptions say how an independent meter is asked.
type VoltmeterOptions struct {
	Transport Transport
	Redial    Redial        // nil where the transport cannot be made anew
	KeepOpen  bool          // redial only where the connection broke
	Query     string        // "": DefaultVoltsQuery; READ? after an Enter that configures it once is quicker
	SendEnd   string        // lf, crlf, cr; default lf
	ReplyEnd  string        // lf, crlf, cr, any; default any
	Echo      bool          // every line sent comes back first
	Enter     []string      // commands that make it ready, sent after each connection
	Probe     string        // ese, idn, reopen; default ese
	Timeout   time.Duration // of one answer; 0: DefaultMeterTimeout
	Gap       time.Duration // least pause between lines
	Highest   unit.Volts    // that can be measured here; above 0
	Log       *slog.Logger  // nil: no log
	Nonce     func() int    // a random number; nil: a generator of its own
}

// Voltmeter is a meter that speaks SCPI and is asked for direct volts. One goroutine
// owns it. It is never told anything but what Enter holds.
type Voltmeter struct {
	dialogue
	query   []byte
	highest unit.Volts
}

// OpenVoltmeter asks who is there, makes the meter ready, and reads it once.
func OpenVoltmeter(ctx context.Context, o VoltmeterOptions) (*Voltmeter, error) {
	v, err := newVoltmeter(o)
	if err != nil {
		return nil, fmt.Errorf("open the voltmeter: %w", err)
	}
	if err := v.recognise(ctx); err != nil {
		return nil, fmt.Errorf("open the voltmeter: %w", err)
	}
	if _, err := v.Read(ctx); err != nil {
		return nil, fmt.Errorf("open the voltmeter: %w", err)
	}
	v.log.Info("voltmeter open", "maker", v.identity.Maker, "model", v.identity.Model, "serial", v.identity.Serial)
	return v, nil
}

func newVoltmeter(o VoltmeterOptions) (*Voltmeter, error) {
	// The keys that only a supply has get what means nothing here.
	dialect, err := Dialect{SendEnd: o.SendEnd, ReplyEnd: o.ReplyEnd, Echo: o.Echo, Enter: o.Enter, Probe: o.Probe, Compound: true,
		Gap: o.Gap, Timeout: o.Timeout, Status: "none", MainsReturn: "unknown"}.withDefaults()
	if o.Timeout == 0 {
		dialect.Timeout = DefaultMeterTimeout
	}
	switch {
	case err != nil:
		return nil, err
	case o.Transport == nil:
		return nil, errors.New("no transport was given")
	case !(o.Highest > 0) || math.IsInf(float64(o.Highest), 1):
		return nil, fmt.Errorf("highest voltage %v V: it must be above 0", float64(o.Highest))
	}
	v := &Voltmeter{dialogue: newDialogue("voltmeter", dialect, o.Redial, o.KeepOpen, o.Log, o.Nonce),
		query: []byte(orDefault(o.Query, DefaultVoltsQuery)), highest: o.Highest}
	v.number = v.newNumber
	v.link.attach(o.Transport)
	return v, nil
}

// Identity is who answered when it was opened.
func (v *Voltmeter) Identity() hal.Identity { return v.identity }

// Read asks once for the volts. What the standard writes in place of a number, and what
// no cell of this bench can have, is hal.ErrNoReading.
func (v *Voltmeter) Read(ctx context.Context) (unit.Volts, error) {
	if err := v.own(); err != nil {
		return unit.Volts(nan), err
	}
	defer v.disown()
	volts, err := v.read(ctx)
	if err != nil {
		return unit.Volts(nan), fmt.Errorf("read the voltmeter: %w", err)
	}
	return volts, nil
}

func (v *Voltmeter) read(ctx context.Context) (unit.Volts, error) {
	if err := v.inStep(ctx); err != nil {
		return 0, err
	}
	stop := v.interruptible(ctx)
	number, err := v.ask(ctx)
	stop()
	if ctx.Err() != nil || losesStep(err) {
		v.soil(err)
	}
	if err != nil {
		return 0, err
	}
	if most := 1.2*float64(v.highest) + 2; math.Abs(number) > most {
		v.soil(errGarbled) // it may be the answer to another question
		return 0, fmt.Errorf("%v V: %w: more than %v V cannot be here", number, hal.ErrNoReading, most)
	}
	return unit.Volts(number), nil
}

func (v *Voltmeter) ask(ctx context.Context) (float64, error) {
	if err := v.arm(ctx); err != nil {
		return nan, err
	}
	stray, err := v.link.unasked()
	switch {
	case err != nil:
		return nan, err
	case stray:
		return nan, fmt.Errorf("%q came unasked: %w", clip(v.link.in[v.link.start:v.link.end]), errGarbled)
	}
	if err := v.begin(ctx, v.query); err != nil {
		return nan, err
	}
	line, err := v.link.readLine(true)
	if err != nil {
		return nan, fmt.Errorf("answer to %q: %w", v.query, err)
	}
	return ParseNumber(line)
}

// inStep makes the next answer one that can be believed.
func (v *Voltmeter) inStep(ctx context.Context) error {
	if err := ctx.Err(); err != nil || v.clean {
		return err
	}
	limited, cancel := context.WithTimeout(ctx, resyncLimit+v.dialect.Timeout)
	defer cancel()
	if err := v.reach(limited); err != nil {
		return fmt.Errorf("bring the voltmeter's link into step: %w", err)
	}
	v.clean, v.gone = true, false
	return nil
}
