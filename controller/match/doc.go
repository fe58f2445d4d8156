// Package match says what to do with a piece whose colour was measured: take it, grow
// it on by so many volts, or strip it.
//
// Concepts. The colour of a piece gives its film; which order that is, the volts that
// it was run to decide. A [Basis] is the surface and the scale of volts that both are
// reckoned by, with how well the scale is known. A [Goal] is the colour to reach, with
// the tolerance or the limit samples that a piece is taken by. Films only grow: a step
// is made so small that it does not pass the goal by more than a tolerance, and what
// is past it goes back by stripping alone. In a set the piece that is furthest ahead
// sets the goal of the others.
//
// Differences are CIEDE2000. Films are optical nanometres. A reading's standard
// deviation is that of each axis of CIELAB.
//
// The limits of pairs and to the master are common practice, no source; published
// thresholds are for dental ceramics (50:50 perceptible 0.8, acceptable 1.8, R. Ghinea
// et al., J. Dent. 38s (2010) e57) and painted panels. None is for anodized titanium.
//
// Pure: no clock, file or random source.
package match
