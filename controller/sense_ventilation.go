package controller

import (
	"fmt"

	"anodized/controller/process"
)

// readVentilation reads the airflow switch, behind everything that may want the output
// off at once: it has seconds.
func (s *Station) readVentilation() {
	o := &s.owner
	until := s.giveUp()
	if o.airError = nil; s.devices.Ventilation == nil || !until.IsZero() && !s.clock.Now().Before(until) {
		return
	}
	ctx := s.exchange.beginUntil(1, until)
	proven, at, err := s.devices.Ventilation.Airflow(ctx)
	s.exchange.end()
	if o.airError = err; err != nil {
		o.errors.Ventilation++
		o.input.Ventilation.OK = false
		return
	}
	o.input.Ventilation = process.Ventilation{Fitted: true, OK: true, Closed: proven, At: o.since(at)}
	if proven {
		o.airAt = o.input.Ventilation.At
	}
	s.moveNow(o.input.Ventilation.At)
}

func (s *Station) ventilationView() VentilationView {
	in := &s.owner.input.Ventilation
	if !in.Fitted {
		return VentilationView{AgeMS: Unknown()}
	}
	return VentilationView{Fitted: true, Proven: in.OK && in.Closed, AgeMS: age(s.owner.input.Now, in.At)}
}

// airWords say since when nothing has proven the air, and what current flowed.
func (s *Station) airWords() string {
	o := &s.owner
	words := "the airflow switch is open"
	switch {
	case o.airError != nil:
		words = fmt.Sprintf("the airflow switch does not answer (%v)", o.airError)
	case !o.input.Ventilation.OK:
		words = "the airflow switch was not asked in this tick"
	}
	return fmt.Sprintf("%s; it last proved the air %.1f s ago; the current is %s A", words, float64(o.input.Now-o.airAt), spelt(s.amperes()))
}
