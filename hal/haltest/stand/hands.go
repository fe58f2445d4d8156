package stand

import (
	"slices"
	"time"

	"anodized/hal/haltest"
)

// The times of what happens to answers: later than a driver's patience of 300 ms at most,
// and a pause inside of one.
const (
	lateBy  = 400 * time.Millisecond
	pauseOf = 30 * time.Millisecond
)

// Hands are what a tap can do to the next answer.
func (t *Tap) Hands() map[haltest.Fault]func() {
	p := t.protocol
	strike := func(spoil spoiling) func() { return func() { t.Strike(spoil) } }
	return map[haltest.Fault]func(){
		haltest.LateReply:     strike(func(answer []byte, back *queue) { t.later(lateBy, back, answer) }),
		haltest.LostReply:     strike(func([]byte, *queue) {}),
		haltest.GarbageReply:  strike(func(_ []byte, back *queue) { back.put(p.garbage) }),
		haltest.GarbageBefore: strike(func(answer []byte, back *queue) { back.put(slices.Concat(p.before, answer)) }),
		haltest.ExtraReply:    strike(func(answer []byte, back *queue) { back.put(slices.Concat(answer, p.unasked(answer))) }),
		haltest.CutReply:      strike(func(answer []byte, back *queue) { back.put(answer[:len(answer)/2]) }),
		haltest.SplitReply:    strike(func(answer []byte, back *queue) { back.put(answer[:3]); t.later(pauseOf, back, answer[3:]) }),
	}
}
