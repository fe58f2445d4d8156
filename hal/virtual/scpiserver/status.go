package scpiserver

import "fmt"

// code is a number of the standard's error list (SCPI-99 volume 2, 21.8).
type code int

const (
	noError            code = 0
	invalidCharacter   code = -101
	syntaxError        code = -102
	dataType           code = -104
	notAllowed         code = -108
	missing            code = -109
	undefinedHeader    code = -113
	numericData        code = -120
	invalidSuffix      code = -131
	settingsConflict   code = -221
	outOfRange         code = -222
	illegalValue       code = -224
	systemError        code = -310
	overflow           code = -350
	inputOverrun       code = -363
	defaultQueueDepth       = 16
	powerOn            byte = 128
	operationComplete  byte = 1
	commandError       byte = 32
	executionError     byte = 16
	deviceError        byte = 8
	queryError         byte = 4
	statusErrors       byte = 4
	statusQuestionable byte = 8
	statusAvailable    byte = 16
	statusEvent        byte = 32
	statusMaster       byte = 64
	statusOperation    byte = 128
)

var words = map[code]string{
	noError: "No error", invalidCharacter: "Invalid character", syntaxError: "Syntax error", dataType: "Data type error",
	notAllowed: "Parameter not allowed", missing: "Missing parameter", undefinedHeader: "Undefined header",
	numericData: "Numeric data error", invalidSuffix: "Invalid suffix", settingsConflict: "Settings conflict",
	outOfRange: "Data out of range", illegalValue: "Illegal parameter value", systemError: "System error",
	overflow: "Queue overflow", inputOverrun: "Input buffer overrun",
}

func (c code) String() string {
	text, known := words[c]
	if !known {
		text = "Device-specific error"
	}
	return fmt.Sprintf(`%d,"%s"`, int(c), text)
}

// event is the bit of the standard event register that an error sets.
func (c code) event() byte {
	switch {
	case c == noError:
		return 0
	case c <= -100 && c > -200:
		return commandError
	case c <= -200 && c > -300:
		return executionError
	case c <= -400 && c > -500:
		return queryError
	default:
		return deviceError
	}
}

// register is one of the 16-bit status groups.
type register struct{ condition, event, enable uint16 }

// follow latches what rose. Bit 15 is never used.
func (r *register) follow(condition uint16) {
	condition &= 0x7fff
	r.event |= condition &^ r.condition
	r.condition = condition
}

func (r *register) summary() bool { return r.event&r.enable != 0 }

// status is the status system of IEEE 488.2 and the error queue.
type status struct {
	event, eventEnable, serviceEnable byte
	questionable, operation           register
	queue                             []code
	depth                             int
}

// report queues an error. When the queue is full its newest entry becomes -350.
func (s *status) report(c code) {
	if c == noError {
		return
	}
	s.event |= c.event()
	if len(s.queue) < s.depth {
		s.queue = append(s.queue, c)
		return
	}
	s.queue[len(s.queue)-1] = overflow
	s.event |= overflow.event()
}

// next takes the oldest error.
func (s *status) next() code {
	if len(s.queue) == 0 {
		return noError
	}
	c := s.queue[0]
	s.queue = s.queue[:copy(s.queue, s.queue[1:])]
	return c
}

func (s *status) clear() {
	s.event, s.questionable.event, s.operation.event = 0, 0, 0
	s.queue = s.queue[:0]
}

// byte is the status byte; available tells whether an answer waits to be sent.
func (s *status) byte(available bool) byte {
	var b byte
	for _, bit := range []struct {
		set bool
		bit byte
	}{
		{len(s.queue) > 0, statusErrors}, {s.questionable.summary(), statusQuestionable},
		{available, statusAvailable}, {s.event&s.eventEnable != 0, statusEvent},
		{s.operation.summary(), statusOperation},
	} {
		if bit.set {
			b |= bit.bit
		}
	}
	if b&s.serviceEnable&^statusMaster != 0 {
		b |= statusMaster
	}
	return b
}
