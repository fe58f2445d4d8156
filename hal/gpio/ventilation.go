package gpio

import (
	"context"
	"fmt"
	"time"
)

// Ventilation is the contact of an airflow switch.
type Ventilation struct{ contact contacts }

// VentilationRequest asks for the contact.
func VentilationRequest(name string, w Wiring) Request {
	return Request{Consumer: "anodized ventilation", Lines: []Line{w.input(name, false)}}
}

// NewVentilation returns the airflow switch on the line of a [VentilationRequest].
func NewVentilation(lines Lines) *Ventilation {
	return &Ventilation{contacts{lines: lines, count: 1}}
}

// Airflow reads the contact.
func (v *Ventilation) Airflow(ctx context.Context) (proven bool, at time.Time, err error) {
	channels, err := v.contact.read(ctx)
	if err != nil {
		return false, time.Time{}, fmt.Errorf("read the airflow switch: %w", err)
	}
	return channels.Closed[0], channels.At, nil
}
