// Package report draws the record: one load as a picture of three lanes on one
// time axis, and the colours of a bath as a chart of swatches. The same drawing
// is written as SVG or PNG, and the same values give the same bytes.
//
// A picture takes plain values and computes no optics: whoever calls it hands
// over the colours that the film had, as sRGB, with their names, their thickness
// in nm and the provenance of the law behind them. Times are seconds since the
// first energised second, volts and amperes are at the terminals of the supply,
// current densities are in mA/cm² on the declared area.
//
// Every swatch lies on one neutral grey card (L* 65); ink is black on it. The
// pictures are legible in black and white: each fact has a word or a shape
// beside its colour. What is simulated says so in a box inside the picture.
package report
