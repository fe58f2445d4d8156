package stand

import (
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
	strike := func(spoil func(answer []byte, send func([]byte))) func() { return func() { t.Strike(spoil) } }
	p := t.protocol
	return map[haltest.Fault]func(){
		haltest.LateReply:    strike(func(answer []byte, send func([]byte)) { later(lateBy, send, answer) }),
		haltest.LostReply:    strike(func([]byte, func([]byte)) {}),
		haltest.GarbageReply: strike(func(_ []byte, send func([]byte)) { send(p.garbage) }),
		haltest.GarbageBefore: strike(func(answer []byte, send func([]byte)) {
			send(append(append([]byte(nil), p.before...), answer...))
		}),
		haltest.ExtraReply: strike(func(answer []byte, send func([]byte)) { send(answer); send(p.unasked(answer)) }),
		haltest.CutReply:   strike(func(answer []byte, send func([]byte)) { send(answer[:len(answer)/2]) }),
		haltest.SplitReply: strike(func(answer []byte, send func([]byte)) { send(answer[:3]); later(pauseOf, send, answer[3:]) }),
	}
}
