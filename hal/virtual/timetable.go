package virtual

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

const (
	holdSeconds    = 3.0 // after which a steady setpoint is a hold
	contactVolts   = 8.0 // up to here a pause is a check of the contacts
	updatesSeconds = 0.1 // between the changes of a fault that grows
	mostFaults     = 256 // remembered, as long as some of them are over
)

// Inject adds a fault to the timetable. A moment that counts from the start counts from now.
// A fault of what this bench does not have is [Lacking].
func (b *Bench) Inject(f Fault) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	k, known := kindOf(f.ID)
	if !known {
		_, err := ParseFault(f.ID)
		return err
	}
	if f.Part > mostParts || f.Part < AllParts {
		return fmt.Errorf("fault %s: part %d: 1 to %d or AllParts", f.ID, f.Part, mostParts)
	}
	if f.Answers < 0 || f.Answers > mostAnswers || f.Answers > 0 && !k.spoils {
		return fmt.Errorf("fault %s: %d answers: 1 to %d, and only of what spoils answers: %s", f.ID, f.Answers, mostAnswers, strings.Join(spoilers(), ", "))
	}
	f.complete(k)
	if err := b.setup.has(f, k); err != nil {
		return err
	}
	b.forgetOld()
	b.faults = append(b.faults, &armed{Fault: f, kind: k, from: b.body.Seconds(), next: math.Inf(1)})
	b.settle(b.body.Seconds())
	return nil
}

// complete puts in what is not said.
func (f *Fault) complete(k *kind) {
	if f.Size == 0 {
		f.Size = k.size
	}
	if f.Part == 0 {
		f.Part = k.part
	}
	if f.For == 0 && f.Answers > 0 {
		f.For = Forever
	}
	if f.For == 0 {
		f.For = k.lasts
	}
}

// forgetOld drops the oldest faults that are over, so that a bench on which there is
// always something wrong stays as it is for days.
func (b *Bench) forgetOld() {
	for i := 0; len(b.faults) >= mostFaults && i < len(b.faults); {
		if b.faults[i].phase != over {
			i++
			continue
		}
		b.faults = slices.Delete(b.faults, i, i+1)
	}
}

// due is when a waiting fault begins (s of the bench), as far as it is known now.
func (b *Bench) due(f *armed) float64 {
	switch {
	case f.At.From == Start:
		return f.from + float64(f.At.Seconds)
	case f.At.From == On && b.energised:
		return b.onAt + float64(f.At.Seconds)
	case f.At.From == Hold && b.holding():
		return b.roseAt + math.Max(float64(f.At.Seconds), holdSeconds)
	}
	return math.Inf(1)
}

func (b *Bench) holding() bool {
	return b.registers.output && !b.body.Limited() && b.registers.set > contactVolts
}

// settle lets everything happen that is due, and returns when the next thing is, or end.
func (b *Bench) settle(end float64) float64 {
	now := b.body.Seconds()
	next := min(end, b.stays.due(b, now), b.person.next(b, now), b.guard(now))
	for _, f := range b.faults {
		next = math.Min(next, b.turn(f, now))
	}
	b.lid.tell(now)
	return math.Min(next, b.chain.follow(b, now)) // last: lid and stop act on it
}

// turn moves one fault through its phases and returns its next moment.
func (b *Bench) turn(f *armed, now float64) float64 {
	if f.phase == waiting {
		due := b.due(f)
		if due > now {
			return due
		}
		b.begin(f)
	}
	if f.phase == acting && f.until <= now {
		b.finish(f)
	}
	if f.phase == over {
		return math.Inf(1)
	}
	if f.next <= now && f.kind.again != nil {
		f.next = now + f.kind.again(b, f)
	}
	return math.Min(f.until, f.next)
}

func (b *Bench) begin(f *armed) {
	f.phase, f.since, f.until = acting, b.body.Seconds(), math.Inf(1)
	if f.For < Forever {
		f.until = f.since + f.For.Seconds()
	}
	f.kind.begin(b, f)
	if f.kind.again != nil {
		f.next = f.since + f.kind.again(b, f)
	}
}

func (b *Bench) finish(f *armed) {
	f.phase = over
	f.until = math.Min(f.until, b.body.Seconds())
	if f.kind.end != nil {
		f.kind.end(b, f)
	}
}

// endRackFaults ends what hangs in the bath with the rack: a new one is sound.
func (b *Bench) endRackFaults() {
	for _, f := range b.faults {
		if f.kind.rack && f.phase == acting {
			b.finish(f)
		}
	}
}

// Active is a fault of the timetable that has begun.
type Active struct {
	Fault Fault
	Since time.Duration // of the bench
	Until time.Duration // of the bench; Forever while it acts without an end
}

// active adds those to a list.
func (b *Bench) active(all []Active) []Active {
	for _, f := range b.faults {
		if f.phase != waiting {
			all = append(all, Active{f.Fault, seconds(f.since), seconds(f.until)})
		}
	}
	return all
}

func seconds(s float64) time.Duration {
	if s >= math.MaxInt64/1e9 {
		return Forever
	}
	return time.Duration(math.Round(s * 1e9))
}
