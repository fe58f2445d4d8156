package process

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/hal/unit"
)

// TestAnOldOpeningOfTheLidProvesNothing: a switch that was seen to move long ago may be stuck
// by now. What restarts the time that the lid has stood closed (an input module that was
// silent, one contact that bounced) does not make the opening young again.
func TestAnOldOpeningOfTheLidProvesNothing(t *testing.T) {
	silent := func(k *tank) { k.in.Interlock.OK = false }
	bounced := func(k *tank) { k.in.Interlock.Closed[0] = false }
	moved := func(k *tank) { k.in.Interlock.Moved = true }
	const hours = 3600
	for _, c := range []struct {
		name   string
		after  float64 // s, from the lid seen open to the start
		spell  func(*tank)
		starts bool
	}{
		{"nothing between", 170, func(*tank) {}, true},
		{"silent, three minutes less a moment", 179, silent, true},
		{"silent, three minutes and a moment", 181, silent, false},
		{"bounced, three minutes less a moment", 179, bounced, true},
		{"bounced, three minutes and a moment", 181, bounced, false},
		{"moved, three minutes and a moment", 181, moved, false},
		{"silent, twelve hours less a moment", 12*hours - 1, silent, false},
		{"silent, twelve hours and a moment", 12*hours + 1, silent, false},
		{"bounced, twelve hours less a moment", 12*hours - 1, bounced, false},
		{"bounced, twelve hours and a moment", 12*hours + 1, bounced, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := newTank(load())
			for range 40 {
				k.tick()
			}
			opened, _ := k.loop.LidMoments()
			k.before = c.spell
			k.tickAfter(float64(opened) + c.after - 1.5 - k.now)
			k.before = nil
			for k.now < float64(opened)+c.after-0.15 {
				k.tick()
			}
			assert.Equal(t, c.starts, k.loop.LidCycled(), "as the page is told")
			k.in.Event, k.in.LidFirst = Start, true
			k.tick()
			assert.Equal(t, !c.starts, k.out.State == Refused, "%v", k.out.State)
			assert.Equal(t, !c.starts, k.out.Reasons&LidNotCycled != 0)
			again, _ := k.loop.LidMoments()
			assert.Equal(t, opened, again)
		})
	}
}

// TestALidThatIsMovedAgainStarts: what an old opening does not prove, a new one does.
func TestALidThatIsMovedAgainStarts(t *testing.T) {
	k := newTank(load())
	for range 40 {
		k.tick()
	}
	k.tickAfter(13 * 3600)
	k.in.Event = Start
	for range 20 {
		k.tick()
	}
	assert.Equal(t, Checking, k.out.State)
	assert.NotZero(t, k.out.Reasons&LidNotCycled)
	k.lidOpens, k.lidCloses = k.now+1, k.now+2
	k.until(t, ContactCheck)
	assert.Less(t, unit.Seconds(k.lidCloses), k.given.Now)
}
