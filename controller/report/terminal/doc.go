// Package terminal draws a run as it happens for a terminal of 80 by 24 and more:
// the state and why it is still on, volts and amperes against the plan, the colour
// that the parts have now beside the wanted one, the film strip, what was found
// last, and how to stop.
//
// [Render] is a pure function of a [View]: no clock, file or terminal. The state
// line is inverse while the output is on, plain when it is read back off, and
// framed by question marks when it is not known. Each fact has a word; colour is
// never its only carrier: without colour every column of the strip carries the
// initial of its colour's name.
//
// Times are seconds since the first energised second, volts and amperes are at
// the terminals of the supply, current densities are in mA/cm² on the declared
// area, thickness is in nm.
package terminal
