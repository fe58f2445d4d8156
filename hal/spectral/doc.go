// Package spectral reads a multi-channel spectral sensor chip, an AS7341 on I2C with its
// own lamp, as a colour sensor: reflectances of eight bands from 415 to 680 nm, relative
// to a white reference.
//
// # Concepts
//
// The chip has six converters for its eight bands, so a measurement is two passes: its
// multiplexer leads F1 to F4 to them, then F5 to F8. The lamp is on for both and off
// afterwards. Reflectance is (part - dark) / (white - dark), times what the white
// reference itself gives back.
//
// A count at the end of the range, or the chip's own word that it was reached, is no
// reading: saturated. So is a measurement that does not end in time, and one after which
// the registers do not hold what was written: the chip lost its power, and its references
// with it. References are of one session: they are taken again after [MostAge].
//
// Nothing under the sensor is no reading, not a black part.
//
// The sensor advises. Nothing of a run waits for it.
//
// # What was not tried
//
// No chip was at hand: the driver was held against recorded bytes and a fake with
// registers, written from the same text. Stray light beside the head, and the gloss of a
// part seen at another angle than the reference, are not known to it.
//
// # Sources
//
// Registers, times and the words of the multiplexer: from memory of the AS7341 data sheet,
// held against public drivers. Middles and widths of the bands: from memory of the data
// sheet, typical values.
package spectral
