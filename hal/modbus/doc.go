// Package modbus reads the two channels of the lid switch from the discrete inputs
// of a Modbus TCP device, with function 02.
//
// # Concepts
//
// Both channels come from one request, so they belong to one moment. An address is
// the one on the wire, counted from 0. A channel that reads 1 is closed, and closed
// means safe; anything else, and any error, means open.
//
// A request carries a transaction number, and so does its answer. An answer with
// another number, unit, function or length is no answer: the connection is dropped
// and made anew, so that what comes late dies with the old one. The same happens
// after a time-out or a cancelled context.
//
// # Why a codec of our own
//
// One function of the protocol is needed, in fifty lines. A client library's value
// would be its other functions, and those that were tried keep a connection after a
// time-out, so that each later request gets the answer to the one before. The
// library stays where it is of use: as an independent server in the tests.
//
// # Sources
//
// MODBUS Application Protocol Specification V1.1b3, sections 4.1, 6.2 and 7;
// MODBUS Messaging on TCP/IP Implementation Guide V1.0b, section 3.1.3 (the header).
package modbus
