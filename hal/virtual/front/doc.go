// Package front puts a virtual bench on sockets and serial lines, as a process of its
// own would: its supply speaks SCPI on one TCP port, its lid switch Modbus on another.
//
// # Ways
//
// Besides its port the supply can have a serial line for SCPI, a Modbus TCP port, and a
// serial line for Modbus RTU. On both Modbus ways it is unit 1, its registers those of
// the bench file that [Front.BenchFile] writes; unit 2 is a module with the two channels
// of the lid as discrete inputs 0 and 1, and the bath in 0.1 °C as input register 0. The
// serial lines are pseudo-terminals, on which each byte takes its time. Faults of the
// timetable strike all ways alike: an answer that is late, lost or garbage. A serial line
// cannot hang up: there an unplugged supply is silent, and [Front.PullCables] takes the
// line itself away.
//
// The bench runs by the clock of this computer, or a number of times faster. It
// is moved when somebody asks, so it needs no ticker: nobody can tell the
// difference. Its person hangs a rack when a client comes to the supply.
package front
