// Package mesh reads the surface of a part from a triangle mesh and measures it:
// area, volume, box, and whether the surface is closed.
//
// An STL mesh has no unit: whoever reads it says how many millimetres one of its lengths
// is. Triangles are inscribed in curved faces, so a coarse mesh is a little small: a
// ring of 24 facets by 0.5 %, of 64 by 0.07 %, computed. By how much is estimated from
// the angles between its facets (curves.go) and told, never added.
//
// A facet that is there twice counts once: the bath wets a place once. Flaws that keep a
// surface from being closed are counted, so that whoever drew it can find them.
//
// A million triangles take some 100 MB, closed or not: corners once each, facets by their
// numbers, and the files are read as they come.
//
// Formats: STL, ASCII and binary (3D Systems, 1988; from memory of the format), and
// 3MF (3MF Core Specification 1.4.0), which does say its unit.
package mesh
