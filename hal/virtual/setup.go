package virtual

import (
	"fmt"
	"time"

	"anodized/hal/unit"
	"anodized/hal/virtual/plant"
)

const (
	mostParts      = 1000
	defaultTick    = 100 * time.Millisecond
	defaultVolts   = 120
	defaultAmperes = 5
)

// Part is a number of like parts that hang in the bath.
type Part struct {
	Area   unit.SquareCentimetres // of one, wetted
	Count  int                    // 0 means one
	Native unit.Nanometres        // film at the start; 0: the native film of the parameters
	Formed unit.Volts             // formed to these volts in an earlier run; 0: bare
}

// Setup is everything that a bench starts from. The zero value of a field means
// the default that stands beside it; there is no default for the parts.
type Setup struct {
	Seed           uint64
	Parameters     *plant.Parameters // nil: plant.Default
	Parts          []Part
	Faults         []Fault
	HighestVolts   unit.Volts    // 120 V
	HighestAmperes unit.Amperes  // 5 A
	Tick           time.Duration // 100 ms
	Speed          float64       // times real time; 0: as fast as it goes
	Version        string        // of this software, for the identity
	Chain          bool          // a contactor with its one-shot, and an emergency stop
	Voltmeter      bool          // an independent meter across the cell
	Ventilation    bool          // an airflow switch
	Beacon         bool          // a stack light
	LostHost       unit.Seconds  // delay of the supply's lost-host timer, armed by whoever drives it; 0: it has none that is spoken of
	PersonWaits    bool          // the person hangs no rack before being called
	Dummy          unit.Ohms     // a resistor on the output in place of parts; 0: none
	PersonStays    bool          // the person hangs the next rack after each load, without being called
}

func (s Setup) withDefaults() Setup {
	if s.Parameters == nil {
		p := plant.Default()
		s.Parameters = &p
	}
	if s.Dummy > 0 {
		dry := *s.Parameters
		dry.Cell.LeakOhms = float64(s.Dummy)
		s.Parameters, s.Parts = &dry, nil
	}
	if s.HighestVolts == 0 {
		s.HighestVolts = defaultVolts
	}
	if s.HighestAmperes == 0 {
		s.HighestAmperes = defaultAmperes
	}
	if s.Tick == 0 {
		s.Tick = defaultTick
	}
	if s.Version == "" {
		s.Version = "0"
	}
	return s
}

func (s Setup) check() error {
	if !(s.HighestVolts > 0 && s.HighestVolts <= 1000) {
		return fmt.Errorf("highest voltage of %v V: it must be above 0 and at most 1000 V", s.HighestVolts)
	}
	if !(s.HighestAmperes > 0 && s.HighestAmperes <= 1000) {
		return fmt.Errorf("highest current of %v A: it must be above 0 and at most 1000 A", s.HighestAmperes)
	}
	if !(s.Dummy >= 0 && s.Dummy <= 1e6) {
		return fmt.Errorf("a dummy load of %v: it must be from 0 (none) to 1000000 ohm", s.Dummy)
	}
	if !(s.LostHost == 0 || s.LostHost >= 1 && s.LostHost <= 3600) {
		return fmt.Errorf("a lost-host timer of %v: it must be from 1 to 3600 s, or 0 for none", s.LostHost)
	}
	if s.Tick < time.Millisecond || s.Tick > 10*time.Second {
		return fmt.Errorf("tick of %v: it must be from 1 ms to 10 s", s.Tick)
	}
	if !(s.Speed >= 0 && s.Speed <= 1e6) {
		return fmt.Errorf("speed of %v: it must be from 0 (as fast as it goes) to 1000000", s.Speed)
	}
	return nil
}

// hang lists the parts one by one, as the plant wants them.
func (s Setup) hang() ([]plant.Part, error) {
	var all []plant.Part
	law := plant.FormedFilm(s.Parameters.Film)
	for _, part := range s.Parts {
		film := float64(part.Native)
		if part.Formed > 0 {
			film = law(float64(part.Formed))
		}
		if part.Count < 0 || len(all)+part.Count > mostParts {
			return nil, fmt.Errorf("%d parts: at most %d in all", part.Count, mostParts)
		}
		for range max(part.Count, 1) {
			all = append(all, plant.Part{Area: float64(part.Area), Film: film})
		}
	}
	return all, nil
}
