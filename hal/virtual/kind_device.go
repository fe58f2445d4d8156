package virtual

import "time"

// readbackKinds are what can be wrong with the supply's own meter.
var readbackKinds = []kind{
	{id: "readback-volts-gain", what: "volts read wrong", size: 1.005, unit: "times", lasts: ever,
		begin: func(b *Bench, f *armed) { b.body.ReadVoltGain = f.Size },
		end:   func(b *Bench, _ *armed) { b.body.ReadVoltGain = 1 }},
	{id: "readback-amperes-gain", what: "amperes read wrong", size: 1.02, unit: "times", lasts: ever,
		begin: func(b *Bench, f *armed) { b.body.ReadAmpereGain = f.Size },
		end:   func(b *Bench, _ *armed) { b.body.ReadAmpereGain = 1 }},
	{id: "current-offset", what: "amperes read too high or too low", size: 0.01, unit: "A", lasts: ever,
		begin: func(b *Bench, f *armed) { b.body.ReadAmpereOffset = f.Size },
		end:   func(b *Bench, _ *armed) { b.body.ReadAmpereOffset = 0 }},
	{id: "readback-stuck", what: "volts, amperes and mode stand still", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.freeze(true, true) }, end: thaw},
	{id: "readback-volts-stuck", what: "volts stand still", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.freeze(true, false) }, end: thaw},
	{id: "readback-amperes-stuck", what: "amperes stand still", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.freeze(false, true) }, end: thaw},
	{id: "no-reading", what: "readings are not a number", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.link.noReading = true },
		end:   func(b *Bench, _ *armed) { b.link.noReading = false }},
}

// linkKinds are what can be wrong between the computer and the supply.
var linkKinds = []kind{
	{id: "supply-silent", what: "the supply hears but does not answer", lasts: ever, spoils: true,
		begin: func(b *Bench, _ *armed) { b.link.silent = true },
		end:   func(b *Bench, _ *armed) { b.link.silent = false }},
	{id: "supply-unplugged", what: "the link to the supply is gone, its output stays as it is", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.link.gone = true },
		end:   func(b *Bench, _ *armed) { b.link.gone = false }},
	{id: "late-reply", what: "answers come late", size: 0.4, unit: "s", lasts: 300 * time.Millisecond, spoils: true,
		begin: func(b *Bench, f *armed) { b.link.late = f.Size },
		end:   func(b *Bench, _ *armed) { b.link.late = 0 }},
	{id: "garbage", what: "answers are garbage", lasts: 300 * time.Millisecond, spoils: true,
		begin: func(b *Bench, _ *armed) { b.link.garbage = true },
		end:   func(b *Bench, _ *armed) { b.link.garbage = false }},
	{id: "cut-reply", what: "answers break off in the middle", lasts: 300 * time.Millisecond, spoils: true,
		begin: func(b *Bench, _ *armed) { b.link.cut = true },
		end:   func(b *Bench, _ *armed) { b.link.cut = false }},
	{id: "doubled-reply", what: "answers come twice", lasts: 300 * time.Millisecond, spoils: true,
		begin: func(b *Bench, _ *armed) { b.link.doubled = true },
		end:   func(b *Bench, _ *armed) { b.link.doubled = false }},
	{id: "merged-reply", what: "two answers come as one", lasts: 300 * time.Millisecond, spoils: true,
		begin: func(b *Bench, _ *armed) { b.link.merged = true },
		end:   func(b *Bench, _ *armed) { b.link.merged = false }},
}

// panelKinds are what the supply does with what it is told.
var panelKinds = []kind{
	{id: "setpoint-ignored", what: "new setpoints and limits are not taken", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.registers.deaf = true },
		end:   func(b *Bench, _ *armed) { b.registers.deaf = false }},
	{id: "setpoint-clamped", what: "setpoints above a voltage are silently held there", size: 10, unit: "V", lasts: ever,
		begin: func(b *Bench, f *armed) { b.registers.most = f.Size },
		end:   func(b *Bench, _ *armed) { b.registers.most = 0 }},
	{id: "off-ignored", what: "the supply does not take the word for off, and says so", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.registers.clings = true },
		end:   func(b *Bench, _ *armed) { b.registers.clings = false }},
	{id: "panel-touched", what: "somebody turns the knob of the voltage", size: -1, unit: "V", lasts: ever,
		begin: func(b *Bench, f *armed) { b.turnKnob(f.Size) }},
	{id: "output-touched", what: "somebody switches the output off at the panel", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.switchOutput(false) }},
	{id: "instrument-error", what: "the supply queues an error of its own", size: -310, unit: "its number", lasts: ever,
		begin: func(b *Bench, f *armed) { b.queue(int(f.Size)) }},
}

// lidKinds are what can happen to the lid and its switch.
var lidKinds = []kind{
	{id: "interlock-open", what: "somebody opens the lid, and closes it again", lasts: 2 * time.Second,
		begin: func(b *Bench, _ *armed) { b.lid.open++ }, end: func(b *Bench, _ *armed) { b.lid.open-- }},
	{id: "interlock-bounce", what: "the lid switch bounces", lasts: 150 * time.Millisecond,
		begin: func(b *Bench, _ *armed) { b.lid.open++ }, end: func(b *Bench, _ *armed) { b.lid.open-- }},
	{id: "interlock-disagrees", what: "one channel opens alone", part: 2, lasts: ever,
		begin: func(b *Bench, f *armed) { b.lid.force(f.Part, false) },
		end:   func(b *Bench, f *armed) { b.lid.free(f.Part) }},
	{id: "interlock-stuck-closed", what: "a channel says closed whatever the lid does", part: 1, lasts: ever,
		begin: func(b *Bench, f *armed) { b.lid.force(f.Part, true) },
		end:   func(b *Bench, f *armed) { b.lid.free(f.Part) }},
	{id: "interlock-gone", what: "the lid switch cannot be read", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.lid.gone = true },
		end:   func(b *Bench, _ *armed) { b.lid.gone = false }},
}
