// Package watchdog feeds the watchdog of the computer itself: a counter in hardware that
// starts the board again when nobody has fed it for its time.
//
// It follows the Linux watchdog driver API (Documentation/watchdog/watchdog-api.rst of
// the kernel): opening the device arms it, an ioctl sets its time, another one feeds it,
// and only a file that is closed after the letter V was written to it disarms it.
//
// [Dog.Beat] is for the end of a finished turn of the control loop and for nothing else:
// no timer feeds it, so a loop that hangs under a page that still answers is found. It
// waits for nothing: a goroutine of its own writes what a beat left for it, and once
// that is done waits for the next beat.
//
// The board is started again long after the one-shot has dropped the contactor. It is
// there for a computer that hangs as a whole, which no process can see.
package watchdog
