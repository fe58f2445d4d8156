// Package scpi drives a single-output supply that speaks SCPI-99 over IEEE 488.2
// messages. It knows no maker and no model: what an instrument does differently
// from the standard's habit is a key of its [Dialect].
//
// # Concepts
//
// A [Transport] carries bytes. The driver cannot close it, and does not know
// whether it is a socket, a serial line or a USB message pipe. A [Redial] function
// and the interfaces [Flusher] and [Pender] are abilities that a transport may have.
//
// A line is what goes out or comes back up to its terminator. A question is one or
// more queries that are asked together, so their answers belong to one moment; an
// exchange is a question and its answers. Answers carry no number: after a
// time-out the next line read may be the answer to the question before.
//
// A link is clean or dirty. It becomes dirty by a time-out, a cancelled context,
// an answer that does not parse, an echo that differs, or bytes that nobody asked
// for. On a dirty link only "off" may be sent, and nothing that comes back is
// believed until a question with a new answer (a random number written to the
// event enable register and read back) has been answered. That takes a second at
// most, else the call fails with hal.ErrDesync. Lost bytes never switch the output:
// it is as it was, and the caller decides.
//
// A link that broke is gone. When it comes back the instrument is asked who it is
// first; a stranger is asked nothing more, and an old acquaintance is switched off
// before anything else. That ends a run, and is told as hal.ErrRelinked. A connection
// that did not break is not given up for a new one while the output may be on, before
// "off" was said on it, nor in the two seconds behind that: on a new one a supply that
// hears and is silent would hear nothing but the question who it is. A wrong name is asked
// for twice, since nothing else tells a stranger from a name that was spoilt on its way.
//
// While the output may be on a setpoint is asked for before it is overwritten: a knob
// that was turned meanwhile is told (hal.ErrLocal) and left as it is. So is what a supply
// makes of a setting that is neither the old value nor the new one (hal.ErrStray).
//
// # Units
//
// Volts in V, currents in A, times as time.Duration. Setpoints are rounded down to
// the decimals of the dialect, with a millionth of a step of grace, sent as plain
// decimals, read back, and compared with the rounded value.
//
// # Sources
//
// IEEE 488.2-1992 and SCPI-99: message grammar, number forms, status registers and
// error numbers, as implemented by public SCPI parsers; both standards' texts are
// from memory where no published table is named beside a value.
package scpi
