// Package onewire reads the bath's temperature from a DS18B20 on a 1-Wire bus.
//
// # Concepts
//
// The bus is slow: a conversion takes up to 750 ms. [Thermometer.Watch] asks once a
// second in a goroutine of its own, and [Thermometer.Temperature] returns the latest
// reading and when it was taken, without waiting.
//
// The scratchpad is the chip's nine bytes: temperature in sixteenths of a degree,
// alarm levels, configuration, three reserved bytes, and a check sum. Several
// contents have a right check sum and are no temperature: all zeros (a bus held
// low), 85 °C with byte 6 at its power-up value (nothing was converted), 127.94 °C
// (not enough power), and a step of more than 5 °C since the reading before.
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
