package stand

import (
	"slices"
	"sync"
	"time"
)

// Tap sits on the cables of a plug. It writes down what was asked, and lets one thing
// happen to the next answer.
type Tap struct {
	protocol protocol

	mu      sync.Mutex
	heard   []string
	forgets bool   // nothing but the last question is kept
	asked   []byte // of a question, so far
	part    []byte // of an answer that is to be spoilt, so far
	spoil   spoiling
	mute    bool
	rewrite func(question string, answer []byte) []byte // of every answer from now on
	behind  []byte                                      // what comes after an answer that is late
	waits   bool                                        // an answer is late: an instrument does one thing at a time
	instead func(question []byte) (answer []byte)       // nil answer: it goes on to the instrument
}

// spoiling is what happens to an answer on its way; it has the tap's lock.
type spoiling func(answer []byte, back *queue)

// protocol is how a question, and an answer, are told from the next one.
type protocol struct {
	asked, answered func(so []byte) (whole bool)
	text            func(question []byte) string
	garbage         []byte // that begins like nothing of the protocol
	before          []byte // in front of an answer
	unasked         func(answer []byte) []byte
	refusal         func(question []byte) []byte // of a question that sets something; else nil
}

// Heard are the questions that came so far, as their protocol's people write them.
func (t *Tap) Heard() []string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return slices.Clone(t.heard)
}

// Forget has the tap keep nothing but the last question from now on, for those who go on
// for days.
func (t *Tap) Forget() {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.forgets, t.heard = true, nil
}

// on puts the tap on a cable.
func (t *Tap) on(c Cable) {
	there, back := c.Near.out, c.Far.out
	c.Near.through = func(p []byte) { t.question(p, there, back) }
	c.Far.through = func(p []byte) { t.answer(p, back) }
	t.mu.Lock()
	defer t.mu.Unlock()
	t.asked, t.part, t.behind, t.waits = nil, nil, nil, false
}

func (t *Tap) question(p []byte, there, back *queue) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.asked = append(t.asked, p...)
	if !t.protocol.asked(t.asked) {
		there.put(p) // in pieces it cannot be held back
		return
	}
	whole := t.asked
	t.asked = nil
	if t.forgets {
		t.heard = t.heard[:0]
	}
	t.heard = append(t.heard, t.protocol.text(whole))
	if t.instead != nil && len(whole) == len(p) {
		if answer := t.instead(whole); answer != nil {
			t.instead = nil
			back.put(answer)
			return
		}
	}
	there.put(p)
}

func (t *Tap) answer(p []byte, back *queue) {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch {
	case t.mute:
		return
	case t.waits:
		t.behind = append(t.behind, p...)
		return
	case t.spoil == nil && t.rewrite == nil:
		back.put(p)
		return
	}
	if t.part = append(t.part, p...); !t.protocol.answered(t.part) {
		return
	}
	if t.spoil == nil {
		back.put(t.rewrite(t.heard[len(t.heard)-1], t.part))
		t.part = nil
		return
	}
	whole, spoil := t.part, t.spoil
	t.part, t.spoil = nil, nil
	spoil(whole, back)
}

// later sends an answer after a while, and then what came behind it.
func (t *Tap) later(d time.Duration, back *queue, answer []byte) {
	t.waits = true
	time.AfterFunc(d, func() {
		t.mu.Lock()
		defer t.mu.Unlock()
		back.put(append(answer, t.behind...))
		t.waits, t.behind = false, nil
	})
}

// Strike lets something happen to the next answer.
func (t *Tap) Strike(spoil spoiling) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.spoil = spoil
}

// Mute has no answer come through, until it is called with false.
func (t *Tap) Mute(on bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.mute = on
}

// Rewrite changes every answer from now on.
func (t *Tap) Rewrite(rewrite func(question string, answer []byte) []byte) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.rewrite = rewrite
}

// CutAnd lets the next answer break off in the middle, and then something else happen.
func (t *Tap) CutAnd(then func()) {
	t.Strike(func(answer []byte, back *queue) {
		back.put(answer[:len(answer)/2])
		go then()
	})
}

// Instead answers in place of the instrument, the first question for which it has an answer.
func (t *Tap) Instead(answer func(question []byte) []byte) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.instead = answer
}
