package virtual

import "time"

// AdvanceTo moves the simulated clock to a time since [Epoch]; a time that has
// passed does nothing.
func (b *Bench) AdvanceTo(now time.Duration) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.catchUp(now)
}

// catchUp moves tick by tick, so that what is looked at each tick is.
func (b *Bench) catchUp(now time.Duration) {
	for b.now < now {
		b.advance(min(now, b.now+b.setup.Tick))
	}
}

// advance moves the plant from one event of the timetable to the next.
func (b *Bench) advance(to time.Duration) {
	end := to.Seconds()
	for {
		next := b.settle(end)
		if next <= b.body.Seconds() {
			break
		}
		if b.body.Advance(next, b.stopVolts()) {
			b.reached(b.body.Volts())
		}
	}
	b.now = to
	b.cellMeter.sample(b)
}

// stopVolts is the least voltage at which something happens.
func (b *Bench) stopVolts() float64 {
	stop := b.registers.protection
	for _, f := range b.faults {
		if f.phase == waiting && f.At.From == Reached {
			stop = min(stop, float64(f.At.Volts))
		}
	}
	return stop
}

func (b *Bench) reached(volts float64) {
	if volts > b.registers.protection*(1+1e-9) {
		b.trip(overVoltage)
	}
	for _, f := range b.faults {
		if f.phase == waiting && f.At.From == Reached && volts >= float64(f.At.Volts) {
			b.begin(f)
		}
	}
}
