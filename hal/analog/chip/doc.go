// Package chip drives the converters between a computer and an analogue supply:
// digital to analogue for its program inputs, analogue to digital for its monitors.
//
// # Concepts
//
// An [Output] makes volts at a pin from a code; an [Input] measures volts at a pin.
// Neither knows what the volts stand for: scale and calibration belong to package
// analog.
//
// Start makes an output zero before anything is read, then checks what the chip
// would do at power-up, when no software runs. An output whose power-up code is not
// zero is refused.
//
// A conversion is asked for, waited for, and only then read: its configuration is
// read back with the chip's own word that it is finished, so that a slow oscillator
// or a chip that restarted can never pass off the result of another channel. A
// result at the end of the range is [ErrSaturated], not a number.
//
// The chips' own multiplications by a calibration register are not used: after a
// brown-out that register is zero, and so is the current that they then report.
//
// # What was not tried
//
// No chip was at hand. The drivers were held against recorded bytes that follow the
// data sheets and public drivers, and against fakes written from the same text: a
// mistake in reading a sheet would be in both. Look at the first volts of a new
// board with a meter, the supply's mains off.
//
// # Sources
//
// Data sheets of MCP4725, DAC8562, AD5693R (revision C), ADS1115, INA226, INA228.
// From memory, and checked against public drivers only: the commands of the
// DAC8562, the control register of the AD5693R, the configuration and flag bits of
// INA226 and INA228.
package chip
