package campaign

import (
	"runtime/debug"
	"strconv"
)

// judgements are the invariants, each with how it is judged.
func judgements() []Judged {
	all := []Judged{
		{Invariant: lidEnds, How: "each tick: the word for off on the wire 0.35 s and a tick after the lid, and the cell parted 0.05 s and a tick after it by a contactor that works; each on: with a closed lid"},
		{Invariant: voltsBelow, How: "each tick in the plant; each setpoint on the wire; two readings above it at most before off"},
		{Invariant: limitBelow, How: "each limit on the wire and its read-back; each tick in the plant"},
		{Invariant: currentBelow, How: "each tick in the plant"},
		{Invariant: intentFirst, How: "each on on the wire, and each tick with power"},
		{Invariant: secondsAgree, How: "result against plant, rows against result"},
		{Invariant: offInTime, How: "each tick in which the Station says that the run is over: off is on the wire; one client that takes nothing hangs on every run, links are dirty as injected"},
		{Invariant: offFirst, How: "each word on the wire"},
		{Invariant: closedSet, How: "the result"},
		{Invariant: firstCause, How: "the trip of each run with faults, against what that trip says on the screen it could be taken for"},
		{Invariant: goodEnd, How: "each complete run, by the meter and the plant"},
		{Invariant: finite, How: "each setpoint, each row, the result and the last snapshot as JSON"},
		{Invariant: unknownIsUnknown, How: "each tick: what is shown against what the wire told"},
		{Invariant: nothingLeft, How: "a panic in any run; goroutines after each run; the live heap every 500; illegal events of the bare loop in the runs of disorder"},
		{Invariant: replays, How: "one run in ten, bit for bit"},
		{Invariant: sameAgain, How: "one run in fifty, with the wall clock years away"},
		{Invariant: comesToEnd, How: "each run gives a result within two simulated hours"},
	}
	return all
}

// spread is what the loads are drawn from.
func spread() []string {
	return []string{
		"film constants soft, nominal, stiff, or between; efficiency 0.6 to 1; native film 0.5 to 7 nm",
		"nm per volt of the calibration 5 % off, declared area 10 % off, either way",
		"1 to 24 parts, 5 to 2,000 cm2 (even in the logarithm); 1 to 10 ohm for 200 cm2, known to a fourth",
		"target 8 to 110 V, ramp 0.2 to 2 V/s, limit 1 to 10 mA/cm2 (the last two even in the logarithm)",
		"noise 0.1 to 1 %, steps of 1 to 10 mA (halved for small racks until they are a fifth of the end current: a coarser meter is refused, and is a fault of its own here) and 10 to 100 mV",
		"bath 15 to 30 C; ticks of 100 or 200 ms, up to 30 % late, on one machine in ten of 100 ms and up to 0.2 s late; slew 5 to 500 V/s, settling within 0 to 300 ms",
		"every second bench with a contactor and an emergency stop",
	}
}

// commit is the revision that this program was built from.
func commit() string {
	info, known := debug.ReadBuildInfo()
	if !known {
		return "unknown"
	}
	revision, dirty := "unknown", false
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			revision = s.Value
		case "vcs.modified":
			dirty, _ = strconv.ParseBool(s.Value) // a word of the toolchain
		}
	}
	if dirty {
		revision += ", changed since"
	}
	return revision
}
