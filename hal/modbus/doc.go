// Package modbus drives what speaks Modbus: a supply whose setpoints, output and
// readings are registers, and the two channels of the lid switch on discrete inputs.
// It knows no maker and no model: what is where in a supply is its [Map].
//
// # Concepts
//
// A [Line] is one connection, over TCP or a serial line ([RTU], also inside TCP
// through a converter), with one device or several, told apart by their unit numbers.
// Exchanges wait for each other; one that switches an output off goes first, and ends
// what another one waits for.
//
// An address is the one on the wire, counted from 0. Words are big-endian; the order of
// the two words of a 32-bit value is not standardised, so a map must say it.
//
// Both channels of a lid switch come from one request, so they belong to one moment. A
// channel that reads 1 is closed, and closed means safe; anything else, and any error,
// means open.
//
// What is written is read back and compared as raw registers: the answer to a write
// proves the line and not the effect, and exception 03 does not mean that a value was out
// of range (V1.1b3, 7). Setpoints that touch are written in one request. What is
// measured must lie within the limits of the map, or it is no reading: a wrong order of
// words or a wrong scale mostly shows itself that way.
//
// # Late answers
//
// While an output may be on, a TCP connection on which answers are missing or spoilt is
// not given up before "off" was said on it, nor in the two seconds behind that: it is
// drained, a late answer has the number of its question, and on a new connection a supply
// that is known by name has to say it first, which in garbage it cannot. That holds for
// all units of the connection. Behind two questions without an answer the next one waits,
// twice as long for each that is missing and 0.4 s at most, so that "off" stands behind few.
// A wrong name over TCP, which has no check sum, is asked for twice.
//
// An answer is checked for all that the protocol gives: unit, function, length, echo,
// and transaction number or check sum; and the line must be silent before a question. A
// line with an error is in doubt. Over TCP, with the output off, a new connection is made,
// and late answers die with the old one. A serial line has no numbers and cannot be made anew: it is asked
// what only a new question can answer: function 08 with a random number (loopback: true)
// or a reading of a length that is never asked else. A device answers one question after
// the other, so what comes before that answer is older, and is thrown away. Where a
// device knows no such question the line is left silent for two time-outs. A second
// answer to one question that comes just while the same question is asked again carries
// no mark, and no master can tell it; devices do not do that by themselves.
//
// # Time on a serial line
//
// How long an answer may take is left to the application (MODBUS over Serial Line V1.02,
// 2.4.1). Each question gets four times what it took of late, at least 150 ms, at least
// half of the configured time-out and never more than that; twice as much for each
// answer that is missing; and all of it the first time, and for the switch of an output.
// An answer that has begun is over after 100 ms of silence: 1.5 characters cannot be seen
// behind an adapter's latency. Whole answers of other units are passed over. After an
// answer that was lost, cut, doubled, merged or garbled there are good readings again
// within 0.35 s of the first question, so a lid on the same line keeps its half second.
// Only a device that holds the line for 0.4 s and more with one late answer costs a lid
// on that line its age. The lid then counts as open, which is right: nobody knows. Who
// does not want that gives the lid a line of its own.
//
// # Why a codec of our own
//
// A client library's value is its framing, which is a page of code here and is held to
// the published frames and to independent peers in both directions. Those libraries that
// were tried keep a connection after a time-out and give the next request the answer to
// the one before; they hide the bytes, so that stray ones cannot be seen and a line cannot
// be drained; and they lock the line for the whole of a time-out, so that no halt can go
// first. What would be left of one, once guarded against that, is the check sum. The
// library stays where it is of use: as an independent peer in the tests.
//
// # Units
//
// Quantities are in V and A, times in time.Duration; Scale is what one count is worth.
//
// # Sources
//
// MODBUS Application Protocol Specification V1.1b3, sections 4, 6 and 7; MODBUS over
// Serial Line V1.02, 2.5.1 and 6.2.2 (frames and check sum); MODBUS Messaging on TCP/IP
// Implementation Guide V1.0b, section 3.1.3 (the header).
package modbus
