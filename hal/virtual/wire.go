package virtual

import (
	"math/rand/v2"
	"slices"
	"time"
)

// Wire is what the timetable does to one answer on its way to the computer. It
// must be used inside [Bench.Exchange].
type Wire struct {
	Gone    bool          // nothing is heard and the connection is dead
	Silent  bool          // heard, but not answered
	Late    time.Duration // simulated
	Garbage bool
	Cut     bool // the answer breaks off
	Doubled bool // the answer comes twice
	Merged  bool // the answer comes behind another or a piece of one, without an end between
}

// Spoils tells whether an answer does not come as it was given.
func (w Wire) Spoils() bool { return w.Garbage || w.Cut || w.Doubled || w.Merged }

// Gone tells whether nothing is heard now. It must be used inside [Bench.Exchange].
func (b *Bench) Gone() bool { return b.link.gone }

// Wire tells what becomes of the answer to one question now, and must be asked once for
// each: a fault that holds so many answers back ends with the last of them. One that
// changes them ends when they are delivered.
func (b *Bench) Wire() Wire {
	w := b.wire()
	b.spend(w.Silent || w.Late > 0, "supply-silent", "late-reply")
	return w
}

func (b *Bench) wire() Wire {
	return Wire{Gone: b.link.gone, Silent: b.link.silent, Late: seconds(b.link.late), Garbage: b.link.garbage,
		Cut: b.link.cut, Doubled: b.link.doubled, Merged: b.link.merged}
}

// mostAnswers is the most that a fault can be made to spoil.
const mostAnswers = 1000

// spoilers are the faults that spoil answers one by one.
func spoilers() (ids []string) {
	for _, k := range kinds {
		if k.spoils {
			ids = append(ids, k.id)
		}
	}
	return ids
}

// spend counts an answer for what spoils it, and ends what has spoilt enough.
func (b *Bench) spend(spoilt bool, by ...string) {
	for _, f := range b.faults {
		if !spoilt || f.phase != acting || f.Answers == 0 || !slices.Contains(by, f.ID) {
			continue
		}
		if f.spent++; f.spent == f.Answers {
			b.finish(f)
		}
	}
}

// Deliver does to an answer, which ends with end, what the timetable says now.
func (b *Bench) Deliver(answer, end []byte) []byte {
	defer func(w Wire) { b.spend(w.Spoils(), "garbage", "cut-reply", "doubled-reply", "merged-reply") }(b.wire())
	whole := func(of []byte) []byte { return append(of[:len(of):len(of)], end...) }
	switch l := &b.link; {
	case l.garbage:
		return whole(b.garble(answer))
	case l.cut:
		return answer[: len(answer)/2 : len(answer)/2]
	case l.doubled:
		return append(whole(answer), whole(answer)...)
	case l.merged && len(end) > 0: // the end between two answers is lost
		return append(answer[:len(answer):len(answer)], whole(answer)...)
	case l.merged:
		return append(answer[:len(answer)/2:len(answer)/2], answer...)
	}
	return whole(answer)
}

// garble makes garbage of an answer: bytes are changed, lost and doubled.
func (b *Bench) garble(answer []byte) []byte {
	var spoilt []byte
	for _, c := range answer {
		switch b.noise.IntN(4) {
		case 0:
			spoilt = append(spoilt, byte(b.noise.IntN(256)))
		case 1:
			spoilt = append(spoilt, c, c)
		case 2:
		default:
			spoilt = append(spoilt, c)
		}
	}
	return spoilt
}

func newNoise(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x6e6f697365)) }

// Arrived is a client that came to the supply. The person hangs a rack when the
// output is off and no rack hangs that was not run yet; alone tells that nobody
// else has been connected for a while, which brings the person as well. It must
// be used inside [Bench.Exchange].
func (b *Bench) Arrived(alone bool) {
	if b.registers.output || b.person.there {
		return
	}
	if b.person.racks == 0 || b.energised || alone {
		b.person.hangs(b.body.Seconds())
	}
}
