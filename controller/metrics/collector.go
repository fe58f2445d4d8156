package metrics

import (
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/record"
)

// Source is what the collector needs of a Station.
type Source interface {
	Snapshot() *controller.Snapshot // never nil
}

// Journal is how the record fares.
type Journal struct {
	QueueRows    int     // rows that wait for the disk
	Rows         uint64  // rows written
	WriteSeconds float64 // the last write
}

// Options are what a snapshot does not say.
type Options struct {
	Version string
	Now     func() time.Time // wall clock, for the time of the last result; nil is time.Now
	Journal func() Journal   // nil: the metrics of the journal are left out
}

// Collector is a prometheus.Collector over a Station. It is safe for several
// goroutines.
type Collector struct {
	source  Source
	options Options

	mu       sync.Mutex
	runs     map[string]float64
	trips    map[string]float64
	findings map[string]float64
	last     time.Time // of the last result; zero before
}

// New returns a collector. Give it the results of the Station with Count.
func New(source Source, options Options) *Collector {
	if options.Now == nil {
		options.Now = time.Now
	}
	c := &Collector{source: source, options: options, runs: map[string]float64{},
		trips: map[string]float64{}, findings: map[string]float64{}}
	for _, outcome := range []record.Outcome{record.Complete, record.TimeRanOut, record.Stopped, record.Tripped, record.Interrupted, record.Refused} {
		c.runs[string(outcome)] = 0
	}
	for _, trip := range fault.Trips() {
		c.trips[string(trip.Code)] = 0
	}
	for _, kind := range fault.Kinds() {
		c.findings[string(kind.Code)] = 0
	}
	return c
}

// Count takes a result of the Station into the totals; other events count nothing.
func (c *Collector) Count(event controller.Event) {
	if event.Kind != controller.KindResult || event.Result == nil {
		return
	}
	result := event.Result
	c.mu.Lock()
	defer c.mu.Unlock()
	c.last = c.options.Now()
	c.runs[string(result.Outcome)]++
	if result.Trip != nil {
		c.trips[string(result.Trip.Code)]++
	}
	for _, finding := range result.Findings {
		c.findings[string(finding.Code)]++
	}
}

// Describe implements prometheus.Collector.
func (c *Collector) Describe(out chan<- *prometheus.Desc) {
	for _, m := range all {
		out <- m.desc
	}
}

// Collect implements prometheus.Collector.
func (c *Collector) Collect(out chan<- prometheus.Metric) {
	s := c.source.Snapshot()
	w := writer{out}
	w.bench(s)
	w.estimates(s)
	w.loop(s)
	w.gauge(buildInfo, 1, c.options.Version)
	if c.options.Journal != nil {
		w.journal(c.options.Journal())
	}
	c.totals(w)
}

func (c *Collector) totals(w writer) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, total := range []struct {
		metric *metric
		counts map[string]float64
	}{{runs, c.runs}, {trips, c.trips}, {findings, c.findings}} {
		for label, count := range total.counts {
			w.count(total.metric, count, label)
		}
	}
	if !c.last.IsZero() {
		w.gauge(lastRun, float64(c.last.UnixMilli())/1000)
	}
}
