package scpi

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// instrument is a supply as its maker might build it: a table of headers, over any
// number of connections. It was written after the standard's habits, not after the
// driver. Without extras it knows the standard's subset alone.
type instrument struct {
	mu             sync.Mutex
	identity       string
	on, stuck      bool
	volts, amperes float64
	clampAt        float64 // 0: none
	ohms           float64
	esr, ese       int
	queue          []string
	questionable   int
	operation      int
	level          float64
	refuse         bool
	timer          timerHeld // for a lost host, beyond the standard
	timerStep      float64   // s, the least that it takes
	timerDead      bool      // it cannot be switched on
	heard          []string
	wires          []*wire // on which each was heard
	far            *wire   // this end of the connection that there is

	lacks     map[string]bool // headers that it does not know
	aborts    bool            // an unknown header ends the line
	separate  bool            // answers to one line come on several
	ack       string
	echo      bool
	replyEnd  string
	lineEnd   byte
	reading   string     // in place of the next measured voltage
	rest      [2]float64 // what the meters show with the output off
	fault     func(w *wire, reply string)
	silent    bool
	greeting  string // sent to whoever connects
	cut       bool   // no connection is taken any more
	delay     time.Duration
	current   *wire // the driver's end
	afterward func(line string)
}

// timerHeld is what it holds for a lost host.
type timerHeld struct {
	armed bool
	after float64 // s
}

func newInstrument() *instrument {
	return &instrument{
		identity: "BENCH WORKS,PS-1 SIMULATED,0042,1.0", esr: 128, ohms: 1e9, level: 130,
		replyEnd: "\n", lineEnd: '\n', lacks: map[string]bool{},
	}
}

// dial is the driver's way in.
func (i *instrument) dial(context.Context) (Transport, error) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.current != nil {
		_ = i.current.Close() // a wire's Close cannot fail
	}
	if i.cut {
		return nil, errors.New("no route to it")
	}
	driver, far := newWire()
	i.current, i.far = driver, far
	far.lane, far.ended = make(chan delivery, 256), make(chan struct{})
	go i.serve(far)
	go far.deliver()
	if i.greeting != "" {
		i.send(far, i.greeting)
	}
	return driver, nil
}

// heardOn is what came by one connection.
func (i *instrument) heardOn(w *wire) (lines []string) {
	i.do(func() {
		for k, line := range i.heard {
			if i.wires[k] == w {
				lines = append(lines, line)
			}
		}
	})
	return lines
}

func (i *instrument) hangUp() {
	i.mu.Lock()
	defer i.mu.Unlock()
	_ = i.current.Close() // a wire's Close cannot fail
}

func (i *instrument) serve(w *wire) {
	defer close(w.ended)
	var line []byte
	chunk := make([]byte, 256)
	for {
		n, err := w.Read(chunk)
		if err != nil {
			return
		}
		for _, c := range chunk[:n] {
			if c != i.lineEnd {
				line = append(line, c)
				continue
			}
			i.line(w, strings.TrimRight(string(line), "\r"))
			line = line[:0]
		}
	}
}

func (i *instrument) line(w *wire, line string) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if line == "" {
		return
	}
	i.heard, i.wires = append(i.heard, line), append(i.wires, w)
	if i.echo {
		i.send(w, line)
	}
	var answers []string
	for _, unit := range strings.Split(line, ";") {
		answer, answered, known := i.execute(strings.TrimPrefix(strings.TrimSpace(unit), ":"))
		if answered {
			answers = append(answers, answer)
		}
		if !known && i.aborts {
			break
		}
	}
	i.answer(w, answers)
	if i.afterward != nil {
		i.afterward(line)
	}
}

func (i *instrument) answer(w *wire, answers []string) {
	if len(answers) == 0 || i.silent {
		return
	}
	reply := strings.Join(answers, ";")
	if i.separate {
		reply = strings.Join(answers, i.replyEnd)
	}
	if fault := i.fault; fault != nil {
		i.fault = nil
		fault(w, reply)
		return
	}
	i.later(w, i.delay, reply+i.replyEnd)
}

func (i *instrument) send(w *wire, reply string) { i.raw(w, reply+i.replyEnd) }

func (i *instrument) raw(w *wire, text string) { i.later(w, 0, text) }

// later sends a text after a delay, and after everything that was sent before it:
// an instrument does one thing at a time.
func (i *instrument) later(w *wire, delay time.Duration, text string) {
	w.lane <- delivery{delay, text}
}

func (i *instrument) fail(number int, text string) {
	bit := map[int]int{1: 32, 2: 16, 3: 8, 4: 4}[-number/100]
	i.esr |= bit
	if len(i.queue) < 20 {
		i.queue = append(i.queue, fmt.Sprintf("%d,%q", number, text))
	}
}

// execute is one message unit.
func (i *instrument) execute(unit string) (answer string, answered, known bool) {
	header, argument, _ := strings.Cut(unit, " ")
	header = strings.ToUpper(header)
	if i.lacks[header] {
		i.fail(-113, "Undefined header")
		return "", false, false
	}
	if strings.HasSuffix(header, "?") {
		answer, known = i.query(header)
		if !known {
			i.fail(-113, "Undefined header")
		}
		return answer, known, known
	}
	known = i.command(header, strings.TrimSpace(argument))
	if !known {
		i.fail(-113, "Undefined header")
	}
	return i.ack, known && i.ack != "", known
}

func (i *instrument) measured() (volts, amperes float64) {
	if !i.on {
		return i.rest[0], i.rest[1]
	}
	volts = min(i.volts, i.amperes*i.ohms)
	return volts, volts / i.ohms
}

func (i *instrument) condition() int {
	volts, _ := i.measured()
	switch {
	case !i.on:
		return i.questionable
	case volts < i.volts:
		return i.questionable | 1
	}
	return i.questionable | 2
}

func (i *instrument) query(header string) (string, bool) {
	volts, amperes := i.measured()
	table := map[string]func() string{
		"*IDN?":           func() string { return i.identity },
		"*OPC?":           func() string { return "1" },
		"*ESE?":           func() string { return strconv.Itoa(i.ese) },
		"*ESR?":           func() string { esr := i.esr; i.esr = 0; return strconv.Itoa(esr) },
		"OUTP?":           func() string { return map[bool]string{true: "1", false: "0"}[i.on] },
		"VOLT?":           func() string { return fmt.Sprintf("%.5E", i.volts) },
		"CURR?":           func() string { return fmt.Sprintf("%.5E", i.amperes) },
		"MEAS:VOLT?":      func() string { return i.override(volts) },
		"MEAS:CURR?":      func() string { return fmt.Sprintf("%+.5E", amperes) },
		"SYST:ERR?":       i.nextError,
		"STAT:QUES:COND?": func() string { return strconv.Itoa(i.condition()) },
		"STAT:OPER:COND?": func() string { return strconv.Itoa(i.operation) },
		"VOLT:PROT:LEV?":  func() string { return fmt.Sprintf("%.2f", i.level) },
		"VOLT:PROT:TRIP?": func() string { return strconv.Itoa(i.questionable >> 9 & 1) },
		"SAFE:TIM:STAT?":  func() string { return map[bool]string{true: "1", false: "0"}[i.timer.armed] },
		"SAFE:TIM:DEL?":   func() string { return fmt.Sprintf("%.0f", i.timer.after) },
		"OUTP:PROT:TRIP?": func() string { return strconv.Itoa(i.questionable >> 9 & 1) },
	}
	if answer, ok := table[header]; ok {
		return answer(), true
	}
	return "", false
}

func (i *instrument) override(volts float64) string {
	if text := i.reading; text != "" {
		i.reading = ""
		return text
	}
	return fmt.Sprintf("%+.5E", volts)
}

func (i *instrument) nextError() string {
	if len(i.queue) == 0 {
		return `+0,"No error"`
	}
	first := i.queue[0]
	i.queue = i.queue[1:]
	return first
}

func (i *instrument) command(header, argument string) bool {
	number, err := strconv.ParseFloat(argument, 64)
	switch header {
	case "OUTP":
		i.on = argument == "ON" || argument == "1" || i.on && i.stuck
	case "SAFE:TIM:STAT":
		i.timer.armed = argument == "ON" && !i.timerDead
	case "VOLT", "CURR", "VOLT:PROT:LEV", "*ESE", "SAFE:TIM:DEL":
		switch {
		case err != nil:
			i.fail(-120, "Numeric data error")
		case i.refuse:
			i.refuse = false
			i.fail(-222, "Data out of range")
		default:
			i.hold(header, number)
		}
	case "*CLS":
		i.queue, i.esr = nil, 0
	case "SYST:REM", "SYST:LOC":
	default:
		return false
	}
	return true
}

func (i *instrument) hold(header string, number float64) {
	if i.clampAt > 0 && header != "*ESE" {
		number = min(number, i.clampAt)
	}
	switch header {
	case "VOLT":
		i.volts = number
	case "CURR":
		i.amperes = number
	case "VOLT:PROT:LEV":
		i.level = number
	case "SAFE:TIM:DEL":
		i.timer.after = max(number, i.timerStep)
	case "*ESE":
		i.ese = int(number)
	}
}

// do changes the instrument behind the driver's back.
func (i *instrument) do(change func()) {
	i.mu.Lock()
	defer i.mu.Unlock()
	change()
}

// lines returns what was heard so far.
func (i *instrument) lines() []string {
	i.mu.Lock()
	defer i.mu.Unlock()
	return append([]string(nil), i.heard...)
}

// plain is the dialect of an instrument that does nothing differently.
func plain() Dialect {
	return Dialect{
		Compound: true, OPC: true, Status: "questionable", Settle: 150 * time.Millisecond,
		DecimalsV: 3, DecimalsA: 4, MainsReturn: "halted",
	}
}

// connect opens a supply on an instrument, and hangs up when the test ends.
func connect(t *testing.T, i *instrument, d Dialect) (*Supply, error) {
	t.Helper()
	transport, err := i.dial(context.Background())
	if err != nil {
		return nil, err
	}
	t.Cleanup(i.hangUp)
	return Open(context.Background(), options(i, transport, d))
}

func options(i *instrument, transport Transport, d Dialect) Options {
	seed := 0
	return Options{
		Transport: transport, Redial: i.dial, Dialect: d, HighestVolts: 120, HighestAmperes: 5,
		Nonce: func() int { seed += 37; return seed },
	}
}
