package process

import (
	"math"

	"anodized/hal/unit"
)

// A reading of a resistor stands still where it keeps its last digit for standTime after
// what it shows must have moved: by movedSteps of the reading, our choice, and for the
// amperes by movedVolts, which the noise of the volts does not make.
const (
	standTime  unit.Seconds = 1
	movedSteps              = 2
	movedVolts unit.Volts   = 0.3
)

// standing is a reading that has been the same to the last digit.
type standing struct {
	value   float64
	cause   float64      // what the reading follows, when this value first came
	moved   unit.Seconds // since when the cause is elsewhere; NaN: it is not
	step    float64      // least change seen, the resolution of the reading; 0: none yet
	started bool
}

// stood tells for how long the cause has been elsewhere, by more than the room.
func (s *standing) stood(now unit.Seconds, value, cause float64, room func(step float64) float64) unit.Seconds {
	change := math.Abs(value - s.value)
	if !s.started || change > 0 {
		if s.started && change > 1e-9 && (s.step == 0 || change < s.step) {
			s.step = change
		}
		s.value, s.cause, s.started, s.moved = value, cause, true, never
	}
	if !(math.Abs(cause-s.cause) > room(s.step)) {
		s.moved = never
		return 0
	}
	if math.IsNaN(float64(s.moved)) {
		s.moved = now
	}
	return now - s.moved
}

// stuck tells whether the volts stand although the setpoint moved, or the amperes although
// the volts did. What regulates current stands for a reason, and is left to Ohm's law. So
// are amperes that never moved: nothing tells them from a lead that is off.
func (l *ResistorLoop) stuck(r Reading) bool {
	volts := l.volts.stood(r.At, float64(r.Volts), float64(l.last.Set), func(step float64) float64 {
		return movedSteps * math.Max(step, float64(l.cfg.VoltStep))
	})
	ohms := float64(l.resistor.Ohms)
	amperes := l.amperes.stood(r.At, float64(r.Amperes), float64(r.Volts)/ohms, func(step float64) float64 {
		if step == 0 {
			return math.Inf(1)
		}
		return math.Max(float64(movedVolts)/ohms, movedSteps*math.Max(step, float64(l.cfg.AmpereStep)))
	})
	return !limited(r, l.last, l.cfg) && max(volts, amperes) > standTime
}
