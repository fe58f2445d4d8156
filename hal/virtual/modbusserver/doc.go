// Package modbusserver is the instrument's side of Modbus TCP for a small input
// module: it answers function 02, read discrete inputs, and nothing else.
//
// Sources: MODBUS Application Protocol V1.1b3, 6.2 and 7; MODBUS Messaging on
// TCP/IP Implementation Guide V1.0b, 3.1.3. Addresses are those of the protocol,
// from 0.
//
// It is written by hand, since the server of the client library can neither
// listen on a port that the system chooses nor answer exception 03, and because
// that library's client proves it in the tests as an independent peer.
package modbusserver
