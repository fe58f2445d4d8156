// Package bands turns the readings of a colour sensor with a few broad bands into
// colours, and says how well.
//
// A reading is the reflectance of each band, of the white reference 1. The colour is a
// matrix times the reading: XYZ under D65 for the 2 degree observer, Lab from it. The
// matrix is fitted to training spectra with known colours, by least squares with a ridge
// that stands for the noise of a reading: without it the bands, which overlap, are played
// off against each other, and a little noise becomes a colour.
//
// The training set is what the sensor is for: films of all thicknesses on the metals of the
// shop, by each of the embedded optical tables, and greys. Its stated error is that of
// leaving out: each sample is predicted by a matrix that was fitted without its table, so
// that the error is that of a film which nobody has measured yet, read with the noise that
// the ridge stands for.
//
// What it cannot know: gloss and angle, stray light, and bands that are not where the data
// sheet says; 5 nm off are a difference of 2 in the middle and 6 at the 95th percentile, computed (a test says
// the figure). The stated error has none of these in it: a sensor of a few bands tells a
// load from its master, and does not replace an instrument.
//
// Units: nm; reflectance as a share; CIEDE2000 for differences.
//
// Pure: no clock, file or random source.
package bands
