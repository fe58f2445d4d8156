package controller

import (
	"log/slog"

	"anodized/controller/process"
)

// NewForResistor returns a Station over a bench with a resistor on its output in place of
// a bath. It does all that it does for a load, but for the watch on the film.
func NewForResistor(d Devices, p Pacer, r Recorder, log *slog.Logger, o Options, resistor process.Resistor) *Station {
	s := New(d, p, r, log, o)
	s.machine = process.NewResistorLoop(s.machine.(*process.Loop), resistor) // New makes nothing else
	return s
}
