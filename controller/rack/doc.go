// Package rack turns what hangs in the bath into wetted area.
//
// Wetted area is the surface, in cm², that the bath reaches: bores and ends count,
// a masked or clamped share does not, a rough finish counts more than its outline.
// Dimensions are in mm, areas in cm², masses in g, densities in g/cm³. The
// formulas are those of plane and solid geometry; each shape also says which of
// its surfaces gives how much.
//
// Every area carries an uncertainty. Its size is our choice, by the way in which
// the area was found (see the constants), and is shown so that nobody takes a
// weighed part for a measured one.
//
// A mask covers a share, an area or named surfaces of a part; what is left bare is what
// counts. Surface that an earlier stage coloured is told beside the total, never in it.
//
// A part is counted as often as it hangs. Fixture (hooks and wires) draws current
// as the parts do while its metal is fresh or stripped; an old hook draws none
// below the volts it was formed to.
//
// Pure: no clock, file or random source.
package rack
