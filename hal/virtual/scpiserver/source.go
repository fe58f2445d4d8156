package scpiserver

// Source is the power behind the commands. It is asked only between two calls of
// the owner's lock, so it need not be safe for concurrent use.
type Source interface {
	Identity() string
	Ratings() Ratings
	Settings() Settings

	SetVolts(volts float64)
	SetAmperes(amperes float64)
	SetOvervoltage(volts float64)
	SetOvercurrent(amperes float64)
	ArmOvercurrent(armed bool)
	SetTripDelay(seconds float64)
	SetSlew(voltsPerSecond float64)
	SetLostHost(armed bool, seconds float64) // off after so long without a command
	SwitchOutput(on bool) bool               // false: a trip is latched
	ClearTrip()
	Reset() // output off, everything as after power on

	Measure() (volts, amperes float64) // NaN: no reading
	Condition() Condition
	Heard()            // a command came
	PoweredOn() bool   // true once after each start of the instrument
	OwnErrors() []int  // errors of the instrument itself since last asked
	Panel(locked bool) // the front panel is locked or free
	PanelLocked() bool // whether it is
}

// Ratings are the largest values that may be set.
type Ratings struct {
	Volts, Amperes            float64 // V, A
	Overvoltage, Overcurrent  float64 // V, A
	LeastSlew, MostSlew, Slew float64 // V/s
}

// Settings are what the supply holds.
type Settings struct {
	Volts, Amperes           float64 // V, A
	Overvoltage, Overcurrent float64 // V, A
	OvercurrentArmed         bool
	TripDelay                float64 // s
	Slew                     float64 // V/s
	LostHost                 bool
	LostHostSeconds          float64
	Output                   bool
}

// Condition is what regulates the output and what has tripped it.
type Condition struct {
	On, Limited, Unregulated                          bool
	Overvoltage, Overcurrent, Overtemperature, Silent bool // Silent: the lost-host timer ran out
}

func (c Condition) tripped() bool {
	return c.Overvoltage || c.Overcurrent || c.Overtemperature || c.Silent
}

// Layout says where the status registers show the regulation. The field knows
// several; none is the standard's.
type Layout string

// The layouts.
const (
	Questionable Layout = "questionable" // QUES 0 current limited, 1 voltage regulated, both unregulated, 4, 9, 10 trips
	Operation    Layout = "operation"    // OPER 8 voltage, 10 current regulated; QUES 0, 1, 4 trips, 10 unregulated
	Summary      Layout = "summary"      // QUES 12 unregulated, 0, 1, 4 trips
)

func (l Layout) bits(c Condition) (questionable, operation uint16) {
	set := func(on bool, bit uint) uint16 {
		if on {
			return 1 << bit
		}
		return 0
	}
	voltage := c.On && !c.Limited && !c.Unregulated
	current := c.On && c.Limited
	unregulated := c.On && c.Unregulated
	trips := set(c.Overvoltage, 0) | set(c.Overcurrent, 1) | set(c.Overtemperature, 4)
	switch l {
	case Operation:
		return trips | set(unregulated, 10), set(voltage, 8) | set(current, 10)
	case Summary:
		return trips | set(unregulated, 12), 0
	}
	return set(current || unregulated, 0) | set(voltage || unregulated, 1) | set(c.Overtemperature, 4) |
		set(c.Overvoltage, 9) | set(c.Overcurrent, 10), 0
}
