// Package gpio reads and drives the lines of a Linux GPIO chip: lid switch, emergency
// stop, contactor with its one-shot and mirror contact, stack light and sounder.
//
// # Concepts
//
// A [Chip] is a character device, /dev/gpiochipN. A [Line] of it is asked for by its
// label or its number, with direction, bias, active level and, for an output, the
// first level, so that no output is ever at a level that nobody chose. Lines asked
// for together are read in one call of the kernel and belong to one moment.
//
// All levels are logical: true is active. For an input active means that the contact
// is closed; a loose wire, an open contact and a line that cannot be read are all the
// same, and unsafe. What an output means stands at its driver.
//
// Edges come with a number. A gap in the numbers means that edges were lost, which
// counts as a movement of every line. The kernel's own debounce is not used: it would
// hold back the opening edge as well. Opening acts on the first edge; closed is
// believed after 20 ms without a movement.
//
// # Why the kernel's interface directly
//
// The request structures are those of the second version of the kernel's character
// device interface, as golang.org/x/sys has them, by plain ioctl. The general-purpose
// bus library that this program uses elsewhere cannot do what is needed here: it turns
// an error into a low level, cannot ask for a first output level, for active-low lines
// or for no bias, and its wait for an edge cannot tell time passed from a chip that is
// gone. Another library would do, but a hundred lines that can be read whole are less
// to trust.
//
// # What was not tried
//
// No GPIO hardware and no simulated chip was at hand. Sizes, numbers and layouts of
// the requests are held to the published values in tests, and everything above the
// system calls runs against fakes; the calls themselves have not met a kernel's chip.
package gpio
