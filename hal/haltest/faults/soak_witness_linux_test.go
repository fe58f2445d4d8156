package faults

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"sync"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/hal/virtual/plant"
)

// tally is what a witness saw. Seconds are those of the bench's clock.
type tally struct {
	Readings      int            `json:"readings_accepted"`
	WrongReadings int            `json:"wrong_readings_accepted"`
	States        int            `json:"states_accepted"`
	WrongStates   int            `json:"wrong_states_accepted"`
	Setpoints     int            `json:"setpoints_confirmed"`
	WrongSet      int            `json:"wrong_setpoints_confirmed"`
	Lids          int            `json:"lid_readings_accepted"`
	WrongLids     int            `json:"wrong_lid_readings_accepted"`
	Errors        map[string]int `json:"errors_of_exchanges"`
	Faults        map[string]int `json:"faults_injected"`
	Struck        int            `json:"faults_that_spoilt_an_exchange"`
	Unheard       int            `json:"faults_between_two_exchanges"`
	Missed        int            `json:"missed_resynchronisations"`
	Recoveries    []float64      `json:"-"` // s, from the first failed exchange to the next good reading
	First         []string       `json:"first_mistakes"`
}

func newTally() *tally {
	return &tally{Errors: map[string]int{}, Faults: map[string]int{}, First: []string{}}
}

// missedAfter is how long after the end of a fault a link that gives no reading has not
// found its step again: the second that it may take, two ticks, and a stall of a busy machine.
const missedAfter = 1500 * time.Millisecond

// witness stands between a Station and its supply and knows the truth: every value that
// the driver gives out is compared with what the instrument gave for this very question.
type witness struct {
	hal.Supply
	bench  *virtual.Bench
	now    func() time.Duration // the bench's clock
	meter  plant.Meter
	seen   *tally
	faults *faults
	truth  virtual.Truth
	failed time.Duration // when the link began to fail; below 0: it is sound
}

func (w *witness) Measure(ctx context.Context) (hal.Sample, error) {
	w.faults.disturb(w.bench, w.now(), w.seen)
	asked := w.now()
	sample, err := w.Supply.Measure(ctx)
	w.note(err)
	if err != nil {
		return sample, err
	}
	w.seen.Readings++
	w.recovered()
	w.bench.TruthInto(&w.truth)
	if why := w.wrong(sample, asked); why != "" {
		w.seen.WrongReadings++
		w.mistake(why)
	}
	return sample, nil
}

// wrong says what is wrong with a reading: it must have been taken for this question, be
// the one that the meter showed, and lie within step and noise of what really was.
func (w *witness) wrong(s hal.Sample, asked time.Duration) string {
	t, m := &w.truth, &w.meter
	volts, amperes := float64(s.Volts), float64(s.Amperes)
	switch {
	case t.LastReadAt < asked.Seconds()-1e-6:
		return "a reading of an earlier question"
	case math.Abs(volts-math.Max(0, t.LastRead.Volts)) > 1e-3 && math.Abs(volts-t.LastRead.Volts) > 1e-3:
		return "volts that the meter did not show"
	case math.Abs(amperes-t.LastRead.Amperes) > 1e-4:
		return "amperes that the meter did not show"
	case math.Abs(volts-t.LastShown.Volts) > m.VoltStep+7*m.VoltNoise:
		return "volts beside what really was"
	case math.Abs(amperes-t.LastShown.Amperes) > m.AmpereStep+7*(m.AmpereNoise+m.GasNoise*t.LastShown.Amperes):
		return "amperes beside what really was"
	}
	return ""
}

func (w *witness) Check(ctx context.Context) (hal.State, error) {
	state, err := w.Supply.Check(ctx)
	w.note(err)
	if err != nil {
		return state, err
	}
	w.seen.States++
	w.bench.TruthInto(&w.truth)
	if !w.holds(float64(state.SetVolts), w.truth.HeldVolts) || !w.holds(float64(state.LimitAmperes), w.truth.HeldAmperes) || state.Output != w.truth.Output {
		w.seen.WrongStates++
		w.mistake("a state that the supply does not have")
	}
	return state, nil
}

func (w *witness) holds(said, held float64) bool { return math.Abs(said-held) < 1e-6 }

func (w *witness) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	got, err := w.Supply.SetVoltage(ctx, v)
	w.note(err)
	if w.bench.TruthInto(&w.truth); err == nil {
		w.confirmed(float64(got), w.truth.HeldVolts)
	}
	return got, err
}

func (w *witness) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	got, err := w.Supply.SetCurrent(ctx, a)
	w.note(err)
	if w.bench.TruthInto(&w.truth); err == nil {
		w.confirmed(float64(got), w.truth.HeldAmperes)
	}
	return got, err
}

func (w *witness) confirmed(said, held float64) {
	w.seen.Setpoints++
	if !w.holds(said, held) {
		w.seen.WrongSet++
		w.mistake("a setpoint that the supply does not hold")
	}
}

func (w *witness) mistake(what string) {
	if len(w.seen.First) < 10 {
		w.seen.First = append(w.seen.First, w.now().String()+": "+what)
	}
}

// note counts a failed exchange, and sees whether the link should have found its step.
func (w *witness) note(err error) {
	if err == nil {
		return
	}
	w.seen.Errors[errorWord(err)]++
	if w.failed < 0 {
		w.failed = w.now()
	}
	w.faults.spoilt(w.now(), w.seen)
}

func (w *witness) recovered() {
	if w.failed >= 0 {
		w.seen.Recoveries = append(w.seen.Recoveries, (w.now() - w.failed).Seconds())
	}
	w.failed = -1
	w.faults.heard(w.now(), w.seen)
}

func errorWord(err error) string {
	for word, is := range map[string]error{"out of step": hal.ErrDesync, "gone": hal.ErrGone, "no reading": hal.ErrNoReading,
		"mismatch": hal.ErrMismatch, "refused": hal.ErrRefused, "panel": hal.ErrLocal, "tripped": hal.ErrTripped} {
		if errors.Is(err, is) {
			return word
		}
	}
	switch {
	case errors.Is(err, context.Canceled):
		return "cut off by the Station"
	case errors.Is(err, hal.ErrTimeout):
		return "timeout"
	}
	return "garbled or other"
}

// faults are those of the line that need it to find its step again.
type faults struct {
	random *rand.Rand
	kinds  []string
	every  time.Duration // on average
	next   time.Duration
	until  time.Duration // no fault after it; 0: for ever
	ends   time.Duration // of the fault under way or over
	open   bool          // nothing was read since it began
	struck bool

	mu   sync.Mutex
	what string // the last fault
}

// last names the last fault of the line, "" before the first.
func (f *faults) last() string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.what
}

func (f *faults) was(what string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.what = what
}

// brief are the faults of a line, each long enough to spoil an exchange or two; and those
// of a device in memory, which has no line.
var (
	brief    = []string{"late-reply", "garbage", "supply-silent", "cut-reply", "doubled-reply", "merged-reply"}
	lineless = []string{"late-reply", "supply-silent", "no-reading"}
)

func (f *faults) disturb(bench *virtual.Bench, now time.Duration, seen *tally) {
	if f.every <= 0 || now < f.next || f.open || f.until > 0 && now > f.until {
		return
	}
	f.next = now + time.Duration((0.5+f.random.Float64())*float64(f.every))
	one := virtual.Fault{ID: f.kinds[f.random.IntN(len(f.kinds))], At: virtual.AfterStart(0), For: time.Duration(20+f.random.IntN(130)) * time.Millisecond}
	late := 0.0
	if one.ID == "late-reply" {
		late = 0.2 + 0.4*f.random.Float64()
		one.Size = late
	}
	if err := bench.Inject(one); err != nil {
		seen.First = append(seen.First, err.Error())
	}
	seen.Faults[one.ID]++
	f.was(one.ID)
	f.open, f.struck, f.ends = true, false, now+one.For+time.Duration(late*float64(time.Second))
}

func (f *faults) spoilt(now time.Duration, seen *tally) {
	if f.open && !f.struck {
		f.struck = true
		seen.Struck++
	}
	if f.open && now > f.ends+missedAfter {
		f.open = false
		seen.Missed++
	}
}

// heard is a good reading: it ends a fault that is over.
func (f *faults) heard(now time.Duration, seen *tally) {
	if !f.open || now <= f.ends {
		return
	}
	switch {
	case !f.struck:
		seen.Unheard++
	case now > f.ends+missedAfter:
		seen.Missed++
	}
	f.open = false
}

// lidWitness compares the lid with the truth before and after it was read.
type lidWitness struct {
	hal.Interlock
	bench *virtual.Bench
	seen  *tally
	truth [2]virtual.Truth
}

func (l *lidWitness) Channels(ctx context.Context) (hal.Channels, error) {
	l.bench.TruthInto(&l.truth[0])
	channels, err := l.Interlock.Channels(ctx)
	l.bench.TruthInto(&l.truth[1])
	if err != nil {
		l.seen.Errors["lid"]++
		return channels, err
	}
	l.seen.Lids++
	if channels.Closed != l.truth[0].Channels && channels.Closed != l.truth[1].Channels {
		l.seen.WrongLids++
	}
	return channels, nil
}
