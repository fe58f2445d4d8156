// Package rtd reads the bath's temperature from a platinum resistor behind a
// MAX31865 converter on SPI.
//
// # Concepts
//
// The converter gives the ratio of the resistor to a reference resistor, in steps of
// 1/32768. [Celsius] turns ohms into °C by the standard's curve.
//
// One reading is a whole sequence: bias on and faults cleared, the converter's own
// search for a broken or shorted lead, one conversion, everything read at once, bias
// off again, so that the resistor does not warm the bath that it measures. The
// registers must still hold what was written: a converter that restarted is no
// reading. So is any fault bit, a ratio of nothing but zeros or ones, and a
// temperature outside -50 to 150 °C.
//
// An open lead to RTDIN+ can go unnoticed by the converter (data sheet): fit 10 MΩ
// from RTDIN+ to BIAS. The thresholds are set here.
//
// Reading, age and jumps are kept by package probe.
//
// # What was not tried
//
// No converter was at hand: the driver was held against recorded bytes.
//
// # Sources
//
// MAX31865 data sheet (ratios, registers); IEC 60751 (the curve, from memory, held
// against values that were computed independently); the bits of the configuration
// register and the times of a conversion from memory.
package rtd
