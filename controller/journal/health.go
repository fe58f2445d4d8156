package journal

import (
	"sync"
	"time"

	"anodized/controller/record"
)

// Health is how the record fares.
type Health = record.Health

// Health may be asked at any time; it waits for nothing.
func (j *Journal) Health() Health {
	rows, dropped := j.ring.waiting()
	health := j.gauge.read()
	health.QueueRows, health.Dropped = rows, dropped
	return health
}

// gauge is what the writer lets others see.
type gauge struct {
	mu      sync.Mutex
	began   time.Time // of the write under way; zero for none
	took    time.Duration
	failure error
	rows    int64
	writes  int64
}

// start notes that a write is under way; the function that it returns notes the end.
func (g *gauge) start() func(error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.began = time.Now()
	return g.end
}

func (g *gauge) end(err error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.took, g.failure, g.began = time.Since(g.began), err, time.Time{}
	g.writes++
}

func (g *gauge) add(rows int) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.rows += int64(rows)
}

func (g *gauge) read() Health {
	g.mu.Lock()
	defer g.mu.Unlock()
	health := Health{Written: g.rows, Writes: g.writes, LastWriteSeconds: g.took.Seconds()}
	if !g.began.IsZero() {
		health.LastWriteSeconds = max(health.LastWriteSeconds, time.Since(g.began).Seconds())
	}
	if g.failure != nil {
		health.LastError = g.failure.Error()
	}
	return health
}

// because is the reason why something still waits, for a message.
func (g *gauge) because() string {
	if failure := g.read().LastError; failure != "" {
		return " waits for the disk: " + failure
	}
	return " is still open: finish it first"
}
