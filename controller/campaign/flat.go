package campaign

import (
	"fmt"
	"runtime"
	"runtime/metrics"
	"sync"
	"time"
)

// Process is what the campaign did to the computer that it ran on.
type Process struct {
	Workers          int     `json:"workers"`
	CPUMSARun        float64 `json:"cpu_ms_a_run"`
	GoroutinesBefore int     `json:"goroutines_before"`
	GoroutinesAfter  int     `json:"goroutines_after"`
	GoroutinesMost   int     `json:"goroutines_most"`
	HeapEarly        float64 `json:"live_heap_early_mib"`
	HeapLate         float64 `json:"live_heap_late_mib"`
}

// flat sees that neither goroutines nor memory grow with the runs.
type flat struct {
	mu      sync.Mutex
	process Process
	workers int
	runs    int
	cpu     float64
}

// everyLooked is how many runs lie between two looks at the memory.
const everyLooked = 500

// eachRun is how many goroutines a run may have: the Station's, its scribe's, its
// listeners' and those of its devices.
const eachRun = 12

func newFlat(workers int) *flat {
	return &flat{workers: workers, cpu: cpuSeconds(), process: Process{Workers: workers, GoroutinesBefore: runtime.NumGoroutine()}}
}

// look is called after each run.
func (f *flat) look(n int, e *entry) {
	now := runtime.NumGoroutine()
	f.mu.Lock()
	defer f.mu.Unlock()
	f.runs++
	f.process.GoroutinesMost = max(f.process.GoroutinesMost, now)
	if most := f.process.GoroutinesBefore + f.workers*(eachRun+1); now > most {
		e.violations = append(e.violations, Violation{nothingLeft, e.seed, "goroutines are left of earlier runs"})
	}
	if n%everyLooked == everyLooked-1 {
		f.heap()
	}
}

// heap is what the collector found to live.
func (f *flat) heap() {
	sample := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(sample)
	if sample[0].Value.Kind() != metrics.KindUint64 {
		return
	}
	live := float64(sample[0].Value.Uint64()) / (1 << 20)
	if f.process.HeapEarly == 0 {
		f.process.HeapEarly = live
	}
	f.process.HeapLate = live
}

// The most that may stay behind of a run, and the fewest runs between the two looks that
// tell it: what the campaign keeps of each run was taken before the first.
const (
	mostKept   = 4.0 / 1024 // MiB a run
	fewestFlat = 2000
)

// left is what stays behind of the runs, "" for nothing.
func (p Process) left(runs int) string {
	switch grown := p.HeapLate - p.HeapEarly; {
	case p.GoroutinesAfter > p.GoroutinesBefore:
		return fmt.Sprintf("%d goroutines before, %d after", p.GoroutinesBefore, p.GoroutinesAfter)
	case runs >= fewestFlat && grown > mostKept*float64(runs):
		return fmt.Sprintf("the live heap grew by %.1f MiB in %d runs", grown, runs)
	}
	return ""
}

// end waits for what still takes its leave.
func (f *flat) end() Process {
	until := time.Now().Add(5 * time.Second)
	for runtime.NumGoroutine() > f.process.GoroutinesBefore && time.Now().Before(until) {
		runtime.Gosched()
	}
	f.process.GoroutinesAfter = runtime.NumGoroutine()
	f.process.CPUMSARun = 1000 * (cpuSeconds() - f.cpu) / float64(max(f.runs, 1))
	return f.process
}
