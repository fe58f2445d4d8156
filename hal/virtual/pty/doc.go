// Package pty makes serial lines without serial ports: pseudo-terminals, whose far
// side is the instrument of a virtual bench.
//
// # Concepts
//
// A [Terminal] has two ends. The near end is a path below /dev that a program opens
// like a serial port; the far end is the Terminal itself, an io.ReadWriter with
// deadlines. While nobody has the near end open, a read from the far end waits.
//
// A pseudo-terminal is not a serial line: it has no modem lines, takes any baud rate
// without keeping to it, and drops parity. [Paced] therefore holds each byte for its
// time on the wire, so that a driver meets the delays of the real thing.
//
// It exists on Linux only.
package pty
