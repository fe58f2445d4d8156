package plant

// Truth is what really is, for tests and the campaign alone.
type Truth struct {
	Seconds       float64   // s since the start
	Volts         float64   // V at the terminals
	Amperes       float64   // A from the terminals
	FilmVolts     float64   // V at the node that the films share
	FilmAmperes   float64   // A through the films
	Film          []float64 // nm, of each part
	Celsius       float64   // °C
	Charge        float64   // C from the terminals
	FilmCharge    float64   // C through the films
	BesideAmperes float64   // A past the films
	Set           float64   // V, the setpoint after slewing
	Limit         float64   // A
	Powered       bool      // the output stage gives power
	Limited       bool      // the current limit regulates
	CellVolts     float64   // V across the cell
	Live          bool      // the cell gets power: the output stage gives it, and the contactor lets it pass
	LastRead      Reading   // the meter's last reading, before any fault of its link
	LastShown     Reading   // what that reading was taken from: without noise, steps and gains
	LastReadAt    float64   // s, when it was taken; below 0 before the first
}

// Truth fills t, using its slice again.
func (p *Plant) Truth(t *Truth) {
	film := t.Film[:0]
	for _, g := range p.member {
		film = append(film, p.groups[g].film)
	}
	*t = Truth{Seconds: p.seconds, Volts: p.now.volts, Amperes: p.now.amperes, FilmVolts: p.now.film,
		FilmAmperes: p.now.through, Film: film, Celsius: p.celsius, Charge: p.charge, FilmCharge: p.throughFilms,
		BesideAmperes: p.now.amperes - p.now.through, Set: p.ramp, Limit: p.limit, Powered: p.powered(),
		Limited: p.now.limited, CellVolts: p.CellVolts(), Live: p.powered() && !p.parted,
		LastRead: Reading{p.meter.volt, p.meter.current}, LastShown: p.meter.shown, LastReadAt: max(-1, p.meter.at)}
}

// Volts is the true voltage at the terminals (V).
func (p *Plant) Volts() float64 { return p.now.volts }

// Amperes is the true current from the terminals (A).
func (p *Plant) Amperes() float64 { return p.now.amperes }

// Limited tells whether the current limit regulates.
func (p *Plant) Limited() bool { return p.now.limited }

// Powered tells whether the output stage gives power.
func (p *Plant) Powered() bool { return p.powered() }

// Seconds is the plant's time.
func (p *Plant) Seconds() float64 { return p.seconds }

// Celsius is the true bath temperature (°C).
func (p *Plant) Celsius() float64 { return p.celsius }

// Steps are the steps of the supply's setpoints (V, A).
func (p *Plant) Steps() (volts, amperes float64) {
	return p.parameters.Output.VoltStep, p.parameters.Output.AmpereStep
}

// Settle is the time (s) after which a reading shows a step.
func (p *Plant) Settle() float64 { return p.parameters.Meter.Settle }
