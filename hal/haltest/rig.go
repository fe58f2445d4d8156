package haltest

import (
	"testing"
	"time"

	"anodized/hal"
)

// Fault is something that a rig can do to its device.
type Fault string

// The faults. Those of a reply strike the next answer only.
const (
	LateReply     Fault = "the answer comes after its time"
	LostReply     Fault = "the answer is lost"
	SplitReply    Fault = "the answer comes in two pieces"
	GarbageReply  Fault = "the answer is garbage"
	GarbageBefore Fault = "garbage comes before the answer"
	ExtraReply    Fault = "an answer comes that nobody asked for"
	CutReply      Fault = "the answer breaks off"
	NotANumber    Fault = "the reading is 9.91E37"
	Clamp         Fault = "setpoints above 10 are silently held at 10"
	Refuse        Fault = "the next setting is refused"
	QueueOverflow Fault = "the error queue is full and ends in -350"
	KnobTurned    Fault = "the voltage is set to 3.21 V at the panel"
	OutputTouched Fault = "the output is switched over at the panel"
	Restart       Fault = "the instrument restarts, its output off"
	Trip          Fault = "one of its protections trips"
	StuckOn       Fault = "the output does not go off"
	Silence       Fault = "nothing is answered any more"
	Gone          Fault = "the connection breaks and cannot be made again"
	Stranger      Fault = "another instrument answers in its place"
)

// SupplyRig is a supply, fresh, and what can be done to it. Output is on the far
// side of the driver; a nil hand is one that the rig does not have.
type SupplyRig struct {
	Supply hal.Supply
	Output func() bool                     // whether the output is really on
	Held   func() (volts, amperes float64) // the setpoints that it really holds
	Heard  func() []string                 // the lines that reached it, since it was built
	Load   func(ohms float64)              // what hangs on its output
	Wait   func(d time.Duration)           // lets the rig's time pass
	Hands  map[Fault]func()                // faults

	Words Words // how the protocol writes what the suite looks for; zero: SCPI
}

// Words are how a protocol writes what the suite looks for in what was heard and said.
type Words struct {
	Off     string   // what switches off, as Heard gives it; "OUTP OFF"
	Who     []string // how the questions begin that a stranger may hear; "*IDN?"
	Refusal string   // in the error of a refused setting; "-222"
}

func (w Words) withDefaults() Words {
	if w.Off == "" {
		return Words{Off: "OUTP OFF", Who: []string{"*IDN?"}, Refusal: "-222"}
	}
	return w
}

// SupplySuite says how to build rigs and what their numbers are.
type SupplySuite struct {
	Run  func(t *testing.T, test func(t *testing.T)) // nil: as it is
	Open func(t *testing.T) SupplyRig                // must clean up through t
	Tell func(test, outcome string)                  // pass, FAIL, or - where the rig has no hands; may be nil
}

func (s SupplySuite) tell(test, outcome string) {
	if s.Tell != nil {
		s.Tell(test, outcome)
	}
}

func (s SupplySuite) run(t *testing.T, test func(t *testing.T)) {
	if s.Run == nil {
		test(t)
		return
	}
	s.Run(t, test)
}

// can tells whether the rig has all these hands.
func (r SupplyRig) can(faults ...Fault) bool {
	for _, fault := range faults {
		if r.Hands[fault] == nil {
			return false
		}
	}
	return true
}

// do lets a fault happen.
func (r SupplyRig) do(fault Fault) { r.Hands[fault]() }

// wait lets time pass where the rig has a clock.
func (r SupplyRig) wait(d time.Duration) {
	if r.Wait != nil {
		r.Wait(d)
	}
}
