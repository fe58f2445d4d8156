package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/controller/replay"
)

// collecting makes a process collect its garbage all the time: whatever keeps that waiting
// keeps everything in the process waiting.
const collecting = "GOGC=1"

// stalling is a disk of its own whose every write waits while it is stalled, as a worn
// card does: a file system that its kernel has frozen.
type stalling struct {
	t       *testing.T
	at      string
	mu      sync.Mutex
	stalled bool
}

// stallingDisk mounts one, or says why it cannot.
func stallingDisk(t *testing.T) *stalling {
	t.Helper()
	if os.Getuid() != 0 {
		t.Skip("a disk that stalls is mounted, which needs root")
	}
	folder := t.TempDir()
	image, at := filepath.Join(folder, "image"), filepath.Join(folder, "disk")
	require.NoError(t, os.Mkdir(at, 0o700))
	require.NoError(t, os.WriteFile(image, nil, 0o600))
	require.NoError(t, os.Truncate(image, 110<<20))
	command(t, "mkfs.ext4", "-q", "-F", "-E", "lazy_itable_init=1,nodiscard", image)
	if said, err := exec.Command("mount", "-o", "loop", image, at).CombinedOutput(); err != nil {
		t.Skipf("no disk can be mounted here: %v: %s", err, said)
	}
	d := &stalling{t: t, at: at}
	t.Cleanup(func() {
		d.comesBack()
		command(t, "umount", "--lazy", at) // a process that a failed test left may have it still
	})
	return d
}

func (d *stalling) stall() {
	d.mu.Lock()
	defer d.mu.Unlock()
	command(d.t, "fsfreeze", "--freeze", d.at)
	d.stalled = true
}

func (d *stalling) comesBack() {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.stalled {
		command(d.t, "fsfreeze", "--unfreeze", d.at)
		d.stalled = false
	}
}

// The disk stalls at a moment of the run. Where it comes back after two seconds, nothing is
// missing; where it does not, the load goes on to its end, or to a stop, which is as fast
// as ever, and says that it is not on record. What is on record is what happened.
func TestProcessOnADiskThatStalls(t *testing.T) {
	t.Parallel()
	sum := newFigures("stalled-run")
	rounds(t, *processStalled, func(t *testing.T, n int) {
		random, disk := randomOf(n, 5), stallingDisk(t)
		folder := t.TempDir()
		plant, path := stand(t, folder, nil), filepath.Join(disk.at, "j.db")
		run := plant.loadOn(folder, path, collecting)
		told := run.told()
		if _, _, on := plant.until(60*time.Second, isLive); !on {
			t.Fatalf("it was never energised: %s", &run.errors)
		}
		<-time.After(time.Duration(random.IntN(2500)) * time.Millisecond) // the moment is the input
		disk.stall()
		comesBack, want := n%3 == 0, record.Complete
		switch n % 3 {
		case 0:
			<-time.After(2 * time.Second)
			disk.comesBack()
		case 1:
			stopAndMeasure(t, plant, run, random, sum)
			want = record.Stopped
		}
		requireToldWithin(t, told, time.Minute, disk)
		assert.False(t, plant.truth().Live)
		disk.comesBack()
		_ = run.command.Wait() // its status is that of its result
		sum.count("ended: " + endOf(run.result.Outcome, run.result.Trip))
		assert.Equal(t, want, run.result.Outcome, "%+v %s", run.result, &run.errors)
		assert.Equal(t, !comesBack, replay.Has(run.result.Findings, fault.JournalUnwritable), "%+v", run.result.Findings)
		requireWholeRows(t, path, comesBack, run.result, sum)
	})
	sum.tell(t, *processStalled)
}

// A disk that stalls before the start: nothing is energised, and the reason is told in the
// seconds in which a person still looks, whether there is a journal already or not.
func TestProcessOnADiskThatStallsBeforeTheStart(t *testing.T) {
	t.Parallel()
	sum := newFigures("stalled-start")
	rounds(t, *processStalled, func(t *testing.T, n int) {
		disk := stallingDisk(t)
		folder := t.TempDir()
		plant, path := stand(t, folder, nil), filepath.Join(disk.at, "j.db")
		if n%2 == 1 {
			reopened(t, path)
		}
		disk.stall()
		began := time.Now()
		run := plant.loadOn(folder, path, collecting)
		requireToldWithin(t, run.told(), 30*time.Second, disk)
		sum.value("seconds until the reason is told", time.Since(began).Seconds())
		assert.Equal(t, record.Refused, run.result.Outcome)
		assert.Contains(t, strings.Join(run.result.Reasons, " "), "the journal's disk does not answer")
		assert.False(t, plant.truth().Energised)
		disk.comesBack()
		_ = run.command.Wait()
		assert.Equal(t, statusCannot, run.command.ProcessState.ExitCode())
		sum.count("refused")
	})
	sum.tell(t, *processStalled)
}

// requireToldWithin waits for the result; a disk that never comes back would keep its
// process, and so this test, for ever.
func requireToldWithin(t *testing.T, told <-chan struct{}, within time.Duration, disk *stalling) {
	t.Helper()
	select {
	case <-told:
	case <-time.After(within):
		disk.comesBack()
		t.Fatal("no result while the disk stalls")
	}
}

// told is closed once a child has told the result of its load: with a disk that stalls it
// does not end before that comes back.
func (c *child) told() <-chan struct{} {
	told := make(chan struct{})
	go func() {
		defer close(told)
		for c.lines.Scan() {
			if strings.Contains(c.lines.Text(), `"event":"result"`) {
				_ = json.Unmarshal(c.lines.Bytes(), &c.result)
				return
			}
		}
	}()
	return told
}
