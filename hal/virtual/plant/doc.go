// Package plant is the body of the virtual bench in pure numbers: parts that grow
// an oxide in a bath, the supply's output stage, and the meter that reads them.
//
// It has its own integration (classical Runge-Kutta of fourth order) and its own
// parameters. It shares no code with the controller, which never reads either, so
// that a mistake in one of them shows as a difference.
//
// Concepts. A part is a wetted area with a film on it. Like parts with the same
// history are integrated once, as a group. Every connected part sees the same
// node voltage. The film carries a high-field current j = i0 (exp(B E) - 1), with
// E the field in the film, and grows by Faraday's law (reviewed by Lohrengel,
// Mater. Sci. Eng. R 11 (1993) 243). Leads and bath are a resistance in series,
// leaks lie across the terminals.
//
// Units inside: V, A, s, cm², nm, ohm, F, °C; densities in A/cm² unless a name
// says mA. Noise is drawn only when a reading is taken, so the numbers do not
// depend on the length of the integration's steps.
package plant
