package plant

// Parameters are everything that makes one bench differ from another.
type Parameters struct {
	Film   Film
	Cell   Cell
	Output Output
	Meter  Meter
	Bath   Bath
}

// Film is how an oxide grows. The zero values of Dissolution, SideCurrent and
// HighVolts switch their effects off.
type Film struct {
	I0             float64 // A/cm², of the high-field law
	B              float64 // cm/V at 20 °C, of the high-field law
	KF             float64 // nm cm²/C, film per charge density
	Efficiency     float64 // share of the ionic charge that stays as film, above 0 to 1
	HighEfficiency float64 // the share at 1.3 HighVolts and above
	HighVolts      float64 // V across the film from which the share falls; 0: never
	SideCurrent    float64 // mA/cm² of oxygen current at 5 MV/cm
	Dissolution    float64 // nm/s
	Thermal        float64 // 1/K, relative rise of B with temperature
	Native         float64 // nm on a bare part
}

// Cell is what lies between the terminals and the films.
type Cell struct {
	LeadOhms    float64 // ohm, of leads and contacts
	BathOhms    float64 // ohm, of the bath at 20 °C; falls by 2 % a kelvin
	LeakOhms    float64 // ohm across the terminals; 0: none
	OffsetVolts float64 // V, constant electrode offset
}

// Output is the output stage of the supply.
type Output struct {
	VoltStep   float64 // V, step of the setpoint; 0: none
	AmpereStep float64 // A, step of the current limit; 0: none
	Slew       float64 // V/s, up and down
	Farads     float64 // F, output capacitance
	BleedOhms  float64 // ohm, drains the output capacitance
}

// Meter is the supply's own readback.
type Meter struct {
	VoltGain, VoltOffset, VoltNoise, VoltStep         float64 // 1, V, V rms, V
	AmpereGain, AmpereOffset, AmpereNoise, AmpereStep float64 // 1, A, A rms, A
	GasNoise                                          float64 // relative rms of slow current noise, 0.3 s
	Settle                                            float64 // s until a reading shows 98 % of a step
}

// Bath is the heat of the bath and its thermometer.
type Bath struct {
	Litres     float64 // L
	Resistance float64 // K/W to the room
	Celsius    float64 // °C at the start
	Room       float64 // °C
	RoomDrift  float64 // K/h
	Noise      float64 // K rms of the thermometer
	Step       float64 // K, of the thermometer
}

// Default is the bench of the demonstration: titanium in bicarbonate. Constants
// of the film are fitted to 1.97 nm/V at 0.5 mA/cm², inside the published 1.8 to
// 2.0 nm/V (J. Mater. Sci. 53 (2018) 7294); the others are assumed.
func Default() Parameters {
	return Parameters{
		Film:   Titanium(),
		Cell:   Cell{LeadOhms: 0.1, BathOhms: 2.4},
		Output: Output{VoltStep: 0.01, AmpereStep: 0.001, Slew: 50, Farads: 1e-3, BleedOhms: 380},
		Meter: Meter{VoltGain: 1, VoltNoise: 0.01, VoltStep: 0.01, AmpereGain: 1, AmpereNoise: 0.0005,
			AmpereStep: 0.001, GasNoise: 0.003, Settle: 0.15},
		Bath: Bath{Litres: 5, Resistance: 0.2, Celsius: 20, Room: 20, Noise: 0.03, Step: 0.0625},
	}
}

// Perfect is a bench without noise, steps, losses, lag or heat: what the growth
// law alone says.
func Perfect() Parameters {
	p := Default()
	p.Film.Efficiency, p.Film.SideCurrent = 1, 0
	p.Output.VoltStep, p.Output.AmpereStep = 0, 0
	p.Meter = Meter{VoltGain: 1, AmpereGain: 1}
	p.Bath = Bath{Litres: 1e12, Resistance: 1e12, Celsius: 20, Room: 20}
	return p
}
