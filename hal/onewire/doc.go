// Package onewire reads the bath's temperature from a DS18B20 on a 1-Wire bus.
//
// # Concepts
//
// The bus is slow: a conversion takes up to 750 ms. Watch asks once a second in a
// goroutine of its own, and Temperature returns the latest reading and when it was
// taken, without waiting (package probe).
//
// There are two ways to the chip. [Kernel] reads the file that the kernel's driver
// keeps of each chip, which needs no special rights; [Thermometer] speaks to the bus
// itself. After a wrong check sum the kernel's file repeats the temperature that it
// had before: that is no reading, and the bytes are decoded again here.
//
// The scratchpad is the chip's nine bytes: temperature in sixteenths of a degree,
// alarm levels, configuration, three reserved bytes, and a check sum. Several
// contents have a right check sum and are no temperature: all zeros (a bus held
// low), 85 °C with byte 6 at its power-up value (nothing was converted), 127.94 °C
// (not enough power), and a step of more than 5 °C since the reading before.
//
// No chip was at hand: both ways were held against recorded bytes and files.
//
// The probe is accurate to half a degree and lags by seconds: what judges it must
// be slow.
//
// # Sources
//
// DS18B20 data sheet (scratchpad, codes, conversion times); CRC-8 of the 1-Wire
// application note 27; the rejects of 85 and 127.94 °C as in the Linux w1_therm
// driver.
package onewire
