// Package bench turns a bench file into a set of open devices. It is the only
// place that opens connections and the only one that closes them, and it holds the
// one table from a driver's name to what constructs it.
//
// # Concepts
//
// A set is everything that one bench file names. Opening takes the bench for this
// process (a lock on each place where the supply is, whatever the spelling of its
// address), drops the contactor, opens
// the supply, whose first bytes switch its output off, and reads every other device
// once. What fails
// is closed again, and the error says which entry of the file it was.
//
// Closing halts first, then gives the supply back to its panel, then closes, then
// gives the lock back.
//
// # Ways
//
// A line is one connection of whatever kind: a TCP socket, or a serial port. It can
// be opened anew. A socket is opened anew after each doubt, since late answers die
// with it. A serial port is opened anew only once it broke (an adapter that was pulled
// and plugged in again): opening it moves modem lines, on which some instruments reset.
//
// Serial ports are opened with the kernel's own settings (termios) and no library. The
// libraries that were looked at cannot end a read or a write that is under way, which a
// halt needs; they give no access to the descriptor, which claiming the port and seeing
// stray bytes need; and they set no flow control. The runtime's poller does all of this
// for a file that does not block. The port is claimed twice: against opening (which does
// not stop root) and by a file lock (which does).
//
// A USB test-and-measurement device is a file of the kernel's usbtmc driver. Its calls
// block, so that one goroutine makes them and the caller waits no longer than its
// deadline; the clear request takes the place of draining; a device that was unplugged
// answers ENODEV, and is found again by its serial number, since its file may get
// another number. This was tried against a fake of that driver and against what is no
// such device; no instrument was at hand, and neither the numbers of the requests (from
// Linux's headers) nor the status byte of a real instrument could be tried.
//
// Modbus devices on one serial line, or behind one converter that carries RTU inside
// TCP, share the line; each over plain TCP has a connection of its own.
//
// An error that wraps [ErrFile] is a mistake in the bench file; every other one is
// about the world: a device does not answer, or another process has the bench
// ([ErrInUse]).
package bench
