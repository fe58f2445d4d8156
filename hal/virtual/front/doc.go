// Package front puts a virtual bench on sockets, as a process of its own would:
// its supply speaks SCPI on one TCP port, its lid switch Modbus on another. The supply
// can have a pseudo-terminal besides, on which each byte takes its time.
//
// The bench runs by the clock of this computer, or a number of times faster. It
// is moved when somebody asks, so it needs no ticker: nobody can tell the
// difference. Its person hangs a rack when a client comes to the supply.
package front
