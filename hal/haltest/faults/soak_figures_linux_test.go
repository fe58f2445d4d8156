package faults

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// figure is the process at a moment. Anonymous memory is what the process has made; the
// rest of what is resident are pages of the program and of files, which the system brings
// in and takes away as it likes. Of the anonymous memory, what the runtime of Go does not
// hold is the database's.
type figure struct {
	Seconds     float64 `json:"t_s"`
	Goroutines  int     `json:"goroutines"`
	Descriptors int     `json:"descriptors"`
	RSS         float64 `json:"rss_mib"`
	Anonymous   float64 `json:"rss_anonymous_mib"`
	Files       float64 `json:"rss_files_mib"`
	Heap        float64 `json:"heap_mib"`          // after a collection
	InUse       float64 `json:"heap_in_use_mib"`   // in spans that hold something
	Idle        float64 `json:"heap_idle_mib"`     // kept for later, resident or not
	Released    float64 `json:"heap_released_mib"` // given back to the system
	Runtime     float64 `json:"runtime_mib"`       // all that the runtime of Go holds and has not given back
	Load        float64 `json:"load_average"`
}

func look(t *testing.T, at time.Duration) figure {
	t.Helper()
	open, err := os.ReadDir("/proc/self/fd")
	require.NoError(t, err)
	runtime.GC()
	var memory runtime.MemStats
	runtime.ReadMemStats(&memory)
	files := mib(uint64(fieldOf(t, "/proc/self/statm", 2)) * uint64(os.Getpagesize())) // with what is shared, of which there is none
	rss := mib(uint64(fieldOf(t, "/proc/self/statm", 1)) * uint64(os.Getpagesize()))
	return figure{Seconds: at.Seconds(), Goroutines: runtime.NumGoroutine(), Descriptors: len(open),
		RSS: rss, Anonymous: rss - files, Files: files, Heap: mib(memory.HeapAlloc), InUse: mib(memory.HeapInuse),
		Idle: mib(memory.HeapIdle), Released: mib(memory.HeapReleased), Runtime: mib(memory.Sys - memory.HeapReleased), Load: loadAverage(t)}
}

func mib(bytes uint64) float64 { return float64(bytes) / (1 << 20) }

func fieldOf(t *testing.T, path string, field int) int {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	value, err := strconv.Atoi(strings.Fields(string(text))[field])
	require.NoError(t, err)
	return value
}

func loadAverage(t *testing.T) float64 {
	t.Helper()
	text, err := os.ReadFile("/proc/loadavg")
	require.NoError(t, err)
	value, err := strconv.ParseFloat(strings.Fields(string(text))[0], 64)
	require.NoError(t, err)
	return value
}

// soFar keeps the figures of a soak that goes on beside its report.
func soFar(t *testing.T, all []figure) {
	t.Helper()
	if *soakJSON == "" {
		return
	}
	text, err := json.Marshal(all)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(*soakJSON+".so-far", text, 0o600))
}

// slope is that of the straight line through one column of the second half of the
// figures, an hour: what grows in the first half may be what a process needs.
func slope(all []figure, column func(figure) float64) *float64 {
	half := all[len(all)/2:]
	if len(half) < 3 {
		return nil
	}
	var n, x, y, xx, xy float64
	for _, f := range half {
		hours := f.Seconds / 3600
		n, x, y, xx, xy = n+1, x+hours, y+column(f), xx+hours*hours, xy+hours*column(f)
	}
	value := (n*xy - x*y) / (n*xx - x*x)
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return nil
	}
	return &value
}

// grows are the slopes, an hour of the clock of the figures.
type grows struct {
	Goroutines  *float64 `json:"goroutines"`
	Descriptors *float64 `json:"descriptors"`
	RSS         *float64 `json:"rss_mib"`
	Anonymous   *float64 `json:"rss_anonymous_mib"`
	Files       *float64 `json:"rss_files_mib"`
	Heap        *float64 `json:"heap_mib"`
	InUse       *float64 `json:"heap_in_use_mib"`
	Runtime     *float64 `json:"runtime_mib"`
}

func growth(all []figure) grows {
	of := func(column func(figure) float64) *float64 { return slope(all, column) }
	return grows{
		Goroutines:  of(func(f figure) float64 { return float64(f.Goroutines) }),
		Descriptors: of(func(f figure) float64 { return float64(f.Descriptors) }),
		RSS:         of(func(f figure) float64 { return f.RSS }),
		Anonymous:   of(func(f figure) float64 { return f.Anonymous }),
		Files:       of(func(f figure) float64 { return f.Files }),
		Heap:        of(func(f figure) float64 { return f.Heap }),
		InUse:       of(func(f figure) float64 { return f.InUse }),
		Runtime:     of(func(f figure) float64 { return f.Runtime }),
	}
}

// soakReport is the JSON of a soak.
type soakReport struct {
	Simulated  bool                 `json:"simulated"`
	Kind       string               `json:"kind"`
	Began      time.Time            `json:"began"`
	Took       float64              `json:"took_s"`  // by the clock of this computer
	Soaked     float64              `json:"bench_s"` // by the clock of the bench
	Processors int                  `json:"processors"`
	Ways       map[string]wayReport `json:"ways"`
	Start      figure               `json:"start"` // before a bench was opened
	End        figure               `json:"end"`   // with all closed again
	PerHour    grows                `json:"slope_per_hour_of_second_half"`
	Figures    []figure             `json:"figures"`
}

// wayReport is one way to a supply.
type wayReport struct {
	Loads     int            `json:"loads"`
	Outcomes  map[string]int `json:"outcomes"`
	Trips     map[string]int `json:"trips"`
	After     map[string]int `json:"trips_after_fault"` // by the last fault before each
	Findings  map[string]int `json:"findings"`
	Energised float64        `json:"energised_s"`
	Ticks     uint64         `json:"ticks"`
	Overruns  uint64         `json:"ticks_late_by_half"`
	Recovered recovered      `json:"recovery"`
	Words     []string       `json:"last_words_before_trips"`
	*tally
}

// recovered are the seconds from the first failed exchange to the next good reading.
type recovered struct {
	Count  int     `json:"count"`
	Median float64 `json:"median_s"`
	P99    float64 `json:"p99_s"`
	Max    float64 `json:"max_s"`
}

func recovery(all []float64) recovered {
	if len(all) == 0 {
		return recovered{}
	}
	sorted := slices.Sorted(slices.Values(all))
	at := func(share float64) float64 { return sorted[min(len(sorted)-1, int(share*float64(len(sorted))))] }
	return recovered{Count: len(sorted), Median: at(0.5), P99: at(0.99), Max: sorted[len(sorted)-1]}
}

// write puts the report where a flag says, and its gist into the log of the test.
func (r soakReport) write(t *testing.T, path string) {
	t.Helper()
	text, err := json.MarshalIndent(r, "", "  ")
	require.NoError(t, err)
	if path != "" {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, append(text, '\n'), 0o600))
	}
	for name, way := range r.Ways {
		t.Logf("SIMULATED, %s, %s: %d loads %v %v, %d readings, %d wrong, faults %v, %d missed resynchronisations", r.Kind, name, way.Loads,
			way.Outcomes, way.Trips, way.Readings, way.WrongReadings, way.Faults, way.Missed)
	}
}
