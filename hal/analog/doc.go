// Package analog drives a supply that is programmed by volts at its inputs and
// watched by volts at its monitors, through the converters of package chip.
//
// # Concepts
//
// A program input is an output pin of ours with a [Scale]; a monitor is an input pin
// with one. The scale is nominal (10 V mean 120 V) and corrected by a straight line
// from a calibration. Setpoints are rounded down to the converter's codes; values in
// the dead band at the bottom are code 0 and count as zero.
//
// The enable contact is what switches the output; a converter at zero is not off.
// Halt drops the contact first and asks nobody, then writes zero. The setpoints stay
// the ones that were set: Energise writes them again, reads them back, and only then
// closes the contact. Where the current limit has no program input, it is the one
// that a person has set at the panel: the highest that may be planned, and nothing
// lower can be asked for. Such a supply is held against its own tests only; the suite
// of a supply asks for several limits.
//
// A bus call takes no context: a stuck bus holds whoever called it for as long as
// the adapter likes. So each bus has a goroutine of its own, a [Lane]. The owner
// waits 100 ms at most; what comes later is thrown away, and the zero of a Halt goes
// out before anything else that waits.
//
// The voltage monitor at the end of its range is an over-voltage of unknown size:
// the driver halts at once and reports that the supply has tripped. The current
// monitor at the end of its range is no reading.
//
// What regulates is inferred from the monitors, as such a supply does not tell:
// the current at its limit with the voltage below its setpoint, or the voltage at
// its setpoint with the current below its limit; otherwise it is unknown.
//
// # What the driver cannot know
//
// A converter that cannot be read back ([chip.ErrWriteOnly]) is believed to hold what
// was sent; the log says so, and the monitors are the only proof. The driver cannot
// see a broken wire between converter and supply, an enable contact that is welded
// behind its line, or a current limit that was turned at the panel: the wiring must
// program zero when it breaks, and the monitors and the contactor show the rest.
//
// # What was not tried
//
// No converter, supply or bus was at hand. The driver was held against the contract
// of a supply with fakes of the chips, written from their data sheets.
package analog
