package modbus

import (
	"context"
	"fmt"
	"time"
)

// VentilationOptions say where the contact of an airflow switch is found.
type VentilationOptions struct {
	Line     *Line
	Unit     int           // 1 to 247; 0 and 255 over TCP as well
	Input    int           // a discrete input
	Timeout  time.Duration // of one answer; 0: DefaultTimeout
	Loopback bool          // function 08 echoes a number
}

// Ventilation is the contact of an airflow switch on a discrete input. It satisfies
// hal.Ventilation. One goroutine owns it.
type Ventilation struct{ contacts }

// NewVentilation returns an airflow switch; it connects with the first reading.
func NewVentilation(o VentilationOptions) (*Ventilation, error) {
	d, err := newDevice("airflow switch", o.Line, o.Unit, o.Timeout, o.Loopback)
	if err != nil {
		return nil, err
	}
	if o.Input < 0 || o.Input > 65535 {
		return nil, fmt.Errorf("airflow switch: input %d: addresses from 0 to 65535 are allowed", o.Input)
	}
	v := &Ventilation{}
	v.device = *d
	v.at("airflow switch", []int{o.Input})
	return v, nil
}

// Airflow reads the contact in one exchange. Any error means not proven.
func (v *Ventilation) Airflow(ctx context.Context) (proven bool, at time.Time, err error) {
	channels, err := v.read(ctx)
	return channels.Closed[0], channels.At, err
}
