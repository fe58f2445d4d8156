package faults

import (
	"flag"
	"runtime"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"

	"anodized/controller/record"
	"anodized/hal/virtual"
)

var (
	soakSimulated = flag.Duration("soak-simulated", 0, "how long TestSoakInSimulatedTime soaks; 0: its short form")
	soakWays      = flag.String("soak-ways", strings.Join(metered, "; "), "the ways that it soaks")
)

// metered are the ways whose readings are those of the virtual bench's own meter, which
// the witness knows: behind converters they are those of a chip.
var metered = []string{inMemoryWay, scpiTCP, scpiSerial, modbusTCP, modbusSerial}

// shortSimulated is the soak of the suite: several loads by each way.
const shortSimulated = 6 * time.Minute

// TestSoakInSimulatedTime runs load after load by each way to a supply, in simulated
// time, with rests and with faults of the line: one Station after the other load, as a
// daemon has it, while a person changes the racks. Nothing that was accepted may be
// wrong, every step must be found again, and nothing may be left over.
func TestSoakInSimulatedTime(t *testing.T) {
	length := *soakSimulated
	if length == 0 {
		length = shortSimulated
	}
	warm(t)
	report := soakReport{Simulated: true, Kind: "simulated time", Began: time.Now(), Processors: runtime.NumCPU(),
		Ways: map[string]wayReport{}, Start: look(t, 0)}
	synctest.Test(t, func(t *testing.T) { soakInBubble(t, length, &report) })
	report.Took, report.Soaked = time.Since(report.Began).Seconds(), length.Seconds()
	report.End, report.PerHour = look(t, length), growth(report.Figures)
	report.write(t, *soakJSON)
	for name, way := range report.Ways {
		assert.Zero(t, way.WrongReadings+way.WrongStates+way.WrongSet+way.WrongLids, "%s: %v", name, way.First)
		assert.Zero(t, way.Missed, name)
		assert.GreaterOrEqual(t, way.Loads, 3, name)
		assert.GreaterOrEqual(t, way.Outcomes[string(record.Complete)], 2, "%s: one daemon runs more than one load: %v %v", name, way.Outcomes, way.Words)
	}
	assert.LessOrEqual(t, report.End.Goroutines, report.Start.Goroutines)
	assert.LessOrEqual(t, report.End.Descriptors, report.Start.Descriptors)
}

func soakInBubble(t *testing.T, length time.Duration, report *soakReport) {
	began := time.Now()
	clock := func() time.Duration { return time.Since(began) }
	var all sync.WaitGroup
	var mu sync.Mutex
	stopLooking := looking(t, report, clock, max(length/200, time.Second))
	for _, way := range strings.Split(*soakWays, "; ") {
		all.Go(func() {
			r := stand(t, way, virtual.Setup{Seed: *soakSeed, Parts: spacerParts()})
			defer r.close()
			for _, p := range r.plugs {
				p.Tap.Forget()
			}
			s := &soaked{name: way, bench: r.bench, now: r.elapsed, every: *soakEvery, seed: *soakSeed, record: &shelf{}, pacer: r.pacer,
				devices: r.devices, options: r.options, stays: true}
			s.watch()
			s.until(t, length)
			mu.Lock()
			defer mu.Unlock()
			report.Ways[way] = s.report
		})
	}
	all.Wait()
	stopLooking()
}
