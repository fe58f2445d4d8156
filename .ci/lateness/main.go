// Command lateness tells how late the ticks of the daemon are without and with a crowd
// beside it: 50 scrapes a second and 50 event streams. It runs a load in real time on
// the virtual bench as a process of its own, for some three minutes. It judges nothing:
// what a machine can do is a figure, not a test. Run it on a machine that does nothing
// else:
//
//	go build -o /tmp/anodized ./cmd/anodized && go run .ci/lateness/*.go /tmp/anodized [SECONDS OF EACH PART]
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"time"
)

// The crowd.
const (
	streams       = 50
	scrapesSecond = 50
)

func main() {
	part := 60 * time.Second
	if len(os.Args) > 2 {
		seconds, err := strconv.Atoi(os.Args[2])
		if err != nil || seconds < 1 {
			fmt.Fprintln(os.Stderr, "usage: lateness PATH-OF-ANODIZED [SECONDS OF EACH PART]")
			os.Exit(2)
		}
		part = time.Duration(seconds) * time.Second
	}
	if len(os.Args) < 2 {
		fmt.Fprintln(os.Stderr, "usage: lateness PATH-OF-ANODIZED [SECONDS OF EACH PART]")
		os.Exit(2)
	}
	if err := measure(os.Args[1], part); err != nil {
		fmt.Fprintln(os.Stderr, "lateness:", err)
		os.Exit(1)
	}
}

// measure compares the two parts on one daemon with one load.
func measure(program string, part time.Duration) (err error) {
	d, err := begin(program)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.end()) }()
	if err := d.load(); err != nil {
		return err
	}
	alone, err := d.watch(part)
	if err != nil {
		return err
	}
	tell("alone", alone)
	beside, counts, err := d.crowded(part)
	if err != nil {
		return err
	}
	tell(fmt.Sprintf("beside %d streams and %d scrapes/s", streams, scrapesSecond), beside)
	fmt.Printf("the crowd: %d messages of streams, %d scrapes answered, %d refused as too many at once\n",
		counts.messages.Load(), counts.scraped.Load(), counts.refused.Load())
	return nil
}

// crowd is what those beside got.
type crowd struct{ messages, scraped, refused atomic.Int64 }

func (d *daemon) crowded(part time.Duration) ([]tick, *crowd, error) {
	ctx, leave := context.WithCancel(context.Background())
	var counts crowd
	var wait sync.WaitGroup
	failures := make(chan error, streams+1)
	for range streams {
		wait.Go(func() { failures <- d.follow(ctx, func([]byte) error { counts.messages.Add(1); return nil }) })
	}
	wait.Go(func() { failures <- d.scrape(ctx, &counts) })
	ticks, err := d.watch(part)
	leave()
	wait.Wait()
	close(failures)
	for one := range failures {
		if !errors.Is(one, context.Canceled) {
			err = errors.Join(err, fmt.Errorf("one of the crowd: %w", one))
		}
	}
	return ticks, &counts, err
}

// scrape asks for the metrics at its pace, whether or not the last answer is there.
func (d *daemon) scrape(ctx context.Context, counts *crowd) error {
	pace := time.NewTicker(time.Second / scrapesSecond)
	defer pace.Stop()
	var wait sync.WaitGroup
	defer wait.Wait()
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-pace.C:
			wait.Go(func() {
				switch status, err := d.metrics(ctx); {
				case err != nil:
				case status == 200:
					counts.scraped.Add(1)
				default:
					counts.refused.Add(1)
				}
			})
		}
	}
}

// tell prints the figures of one part.
func tell(name string, ticks []tick) {
	late, took := make([]float64, len(ticks)), make([]float64, len(ticks))
	for i, one := range ticks {
		late[i], took[i] = 1000*one.Loop.Lateness, 1000*one.Loop.Took
	}
	slices.Sort(late)
	slices.Sort(took)
	first, last := ticks[0], ticks[len(ticks)-1]
	fmt.Printf("%s: %d ticks, %d of them not seen, %d overruns, states %s to %s\n", name, len(ticks),
		int(last.Tick-first.Tick)+1-len(ticks), last.Loop.Overruns-first.Loop.Overruns, first.State, last.State)
	fmt.Printf("  lateness: p50 %.2f ms, p99 %.2f ms, p99.9 %.2f ms, most %.2f ms\n", at(late, .5), at(late, .99), at(late, .999), late[len(late)-1])
	fmt.Printf("  the tick took: p50 %.2f ms, p99.9 %.2f ms\n", at(took, .5), at(took, .999))
}

// at is a quantile by the nearest rank.
func at(sorted []float64, share float64) float64 {
	return sorted[min(len(sorted)-1, int(share*float64(len(sorted))))]
}
