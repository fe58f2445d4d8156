// Package modbusserver is the instrument's side of Modbus: devices of registers
// (functions 03, 04, 06, 08, 16 and 43) and small input modules (function 02), over TCP
// and over serial lines (RTU), several units on one line.
//
// # Concepts
//
// A [Handler] is what hangs on a wire. It answers a request for a unit with a [Reply],
// which can also be late, spoilt, or none. [Execute] and [Inputs] make answers of
// registers and of inputs. A unit that is not there is met with silence on a serial line,
// and with the exception of a gateway over TCP.
//
// Sources: MODBUS Application Protocol V1.1b3, 6 and 7; MODBUS over Serial Line V1.02,
// 2.5.1 and 6.2.2; MODBUS Messaging on TCP/IP V1.0b, 3.1.3. Addresses are those of the
// protocol, from 0.
//
// It is written by hand, since the server of the client library can neither listen on a
// port that the system chooses, nor serve a serial line, nor answer late, wrongly or not
// at all; and because that library's client proves it in the tests as an independent peer.
package modbusserver
