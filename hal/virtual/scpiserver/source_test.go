package scpiserver

import "math"

// shelf is a source with nothing behind it: what is set is held.
type shelf struct {
	s       Settings
	c       Condition
	volts   float64
	amperes float64
	started bool
	own     []int
	locked  bool
	heard   int
	tripped bool
}

func newShelf() *shelf {
	return &shelf{s: Settings{Overvoltage: 132, Overcurrent: 5.5, Slew: 50, LostHostSeconds: 60}}
}

func (f *shelf) Identity() string { return "ANODIZED,SIMULATED BENCH,7,1.0" }
func (f *shelf) Ratings() Ratings {
	return Ratings{Volts: 120, Amperes: 5, Overvoltage: 132, Overcurrent: 5.5, LeastSlew: 0.1, MostSlew: 500, Slew: 50}
}
func (f *shelf) Settings() Settings             { return f.s }
func (f *shelf) SetVolts(v float64)             { f.s.Volts = v }
func (f *shelf) SetAmperes(a float64)           { f.s.Amperes = a }
func (f *shelf) SetOvervoltage(v float64)       { f.s.Overvoltage = v }
func (f *shelf) SetOvercurrent(a float64)       { f.s.Overcurrent = a }
func (f *shelf) ArmOvercurrent(on bool)         { f.s.OvercurrentArmed = on }
func (f *shelf) SetTripDelay(s float64)         { f.s.TripDelay = s }
func (f *shelf) SetSlew(r float64)              { f.s.Slew = r }
func (f *shelf) SetLostHost(on bool, s float64) { f.s.LostHost, f.s.LostHostSeconds = on, s }
func (f *shelf) ClearTrip()                     { f.tripped = false; f.c = Condition{} }
func (f *shelf) Reset()                         { f.s = newShelf().s; f.c = Condition{} }
func (f *shelf) Measure() (float64, float64)    { return f.volts, f.amperes }
func (f *shelf) Condition() Condition           { return f.c }
func (f *shelf) Heard()                         { f.heard++ }
func (f *shelf) Panel(locked bool)              { f.locked = locked }
func (f *shelf) PanelLocked() bool              { return f.locked }

func (f *shelf) SwitchOutput(on bool) bool {
	if on && f.tripped {
		return false
	}
	f.s.Output, f.c.On = on, on
	return true
}

func (f *shelf) PoweredOn() bool {
	was := f.started
	f.started = false
	return was
}

func (f *shelf) OwnErrors() []int {
	own := f.own
	f.own = nil
	return own
}

func notANumber() float64 { return math.NaN() }
