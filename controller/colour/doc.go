// Package colour is what a film on a metal looks like: from a thickness to CIE XYZ,
// CIELAB, a screen's colour and a plain name, and back from a wanted colour to
// volts, with the tolerance in volts that decides whether a shop can hold it.
//
// Concepts: a [Surface] is a film on a metal under one illuminant and angle, with
// all worked out but the thickness. A [Scale] says how thick a film a volt makes at
// one end current density. A [Chart] is the surface over a range of volts.
//
// The specular reflectance is weighted over 380 to 780 nm, inclusive, by plain sums
// (5 nm or 1 nm steps) with the CIE 1931 2 degree observer; XYZ are on a scale where
// the white has Y = 100. Colour differences are CIEDE2000 with all weights 1.
// Screen colours are for show: saturated teal and cyan films lie outside the
// screen's gamut and are clipped, which is said. Never match by screen colours.
//
// What colour fixes is the product of index and thickness, and it fixes neither the
// order nor the volts: another order may look the same.
//
// Sources: CIE 15 and ISO/CIE 11664-1, -2, -3, -4, -6; IEC 61966-2-1 (sRGB);
// G. Sharma, W. Wu, E. N. Dalal, Color Res. Appl. 30 (2005) 21 (CIEDE2000). The
// Bradford matrix is from memory. Names of colours are our own choice.
package colour
