package main

import (
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/controller/replay"
)

func command(t *testing.T, name string, args ...string) {
	t.Helper()
	said, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(t, err, "%s %v: %s", name, args, said)
}

// smallDisk mounts a disk in memory that has room for a run, and not for much more.
func smallDisk(t *testing.T) string {
	t.Helper()
	at := filepath.Join(t.TempDir(), "disk")
	require.NoError(t, os.Mkdir(at, 0o700))
	command(t, "mount", "-t", "tmpfs", "-o", "size=72m", "tmpfs", at)
	t.Cleanup(func() { command(t, "umount", at) })
	return at
}

// fill leaves this many bytes of a disk free, to the block.
func fill(t *testing.T, disk string, free int64) (clear func()) {
	t.Helper()
	path := filepath.Join(disk, "filler")
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	require.NoError(t, err)
	block, size := make([]byte, 64<<10), int64(0)
	for err == nil {
		var n int
		n, err = file.Write(block)
		size += int64(n)
	}
	require.ErrorIs(t, err, syscall.ENOSPC)
	require.NoError(t, file.Truncate(max(0, size-free)))
	require.NoError(t, file.Close())
	return func() { require.NoError(t, os.RemoveAll(path)) }
}

// The disk becomes full at a moment of the run, at any byte. The run goes on and says so;
// what is stopped is off as fast as ever; where room comes back the tail is written, and
// in each case the record reads, without a torn row.
func TestProcessOnADiskThatBecomesFull(t *testing.T) {
	t.Parallel()
	sum := newFigures("disk-full")
	rounds(t, *processFull, func(t *testing.T, n int) {
		random, disk := randomOf(n, 3), smallDisk(t)
		folder := t.TempDir()
		plant, path := stand(t, folder, nil), filepath.Join(disk, "j.db")
		run := plant.loadOn(folder, path)
		ended := run.drained()
		if _, _, on := plant.until(60*time.Second, isLive); !on {
			t.Fatalf("it was never energised: %s", &run.errors)
		}
		<-time.After(time.Duration(random.IntN(2500)) * time.Millisecond) // the moment is the input
		clear := fill(t, disk, random.Int64N(3*4096))
		comesBack := n%2 == 0
		if comesBack {
			<-time.After(1500 * time.Millisecond)
			clear()
		}
		if n%4 >= 2 {
			stopAndMeasure(t, plant, run, random, sum)
		}
		<-ended
		assert.False(t, plant.truth().Live)
		told := replay.Has(run.result.Findings, fault.JournalUnwritable)
		requireUnread(t, run.result, sum)
		if told {
			sum.count("told that the record is not taken")
		}
		if !comesBack {
			clear()
		}
		requireWholeRows(t, path, comesBack || !told, run.result, sum) // what it did not tell of, it has
	})
	sum.tell(t, *processFull)
}

// stopAndMeasure stops a run and takes the time until the cell is dead.
func stopAndMeasure(t *testing.T, plant *stood, run *child, random *rand.Rand, sum *figuresOf) {
	t.Helper()
	<-time.After(time.Duration(random.IntN(1000)) * time.Millisecond)
	if !plant.truth().Live {
		return
	}
	if err := run.command.Process.Signal(syscall.SIGTERM); !errors.Is(err, os.ErrProcessDone) {
		require.NoError(t, err)
	}
	_, took, dead := plant.until(10*time.Second, isDead)
	require.True(t, dead)
	sum.value("seconds from a stop to a dead cell", took.Seconds())
}

// requireWholeRows holds the record of a disk that was not to be written.
func requireWholeRows(t *testing.T, path string, whole bool, told record.Result, sum *figuresOf) {
	t.Helper()
	j, err := journal.Open(path, journal.Options{LeastRoom: 1})
	require.NoError(t, err)
	defer func() { require.NoError(t, j.Close()) }()
	require.Empty(t, j.Status().SetAside, j.Status().Why)
	found, err := j.Verify(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Problems)
	kept, err := j.Run("last")
	require.NoError(t, err)
	for i := 1; i < len(kept.Rows); i++ {
		require.GreaterOrEqual(t, kept.Rows[i].T, kept.Rows[i-1].T, "in their order; 0 until the output is on")
	}
	sum.count("record: " + endOf(kept.Result.Outcome, nil))
	if whole {
		assert.Equal(t, told.Outcome, kept.Result.Outcome, "the tail was written")
		for _, event := range kept.Events {
			assert.NotEqual(t, "rows-dropped", event.Code)
		}
	}
	sum.count("readable")
}

// frozenDisk mounts a disk of its own, and returns how to make it read-only in the midst of
// a write, as a kernel does that meets an error on it, and how to mount it anew.
func frozenDisk(t *testing.T) (at string, freeze, again func()) {
	t.Helper()
	folder := t.TempDir()
	image := filepath.Join(folder, "image")
	at = filepath.Join(folder, "disk")
	require.NoError(t, os.Mkdir(at, 0o700))
	require.NoError(t, os.WriteFile(image, nil, 0o600))
	require.NoError(t, os.Truncate(image, 110<<20))
	command(t, "mkfs.ext4", "-q", "-F", "-E", "lazy_itable_init=1,nodiscard", image)
	command(t, "mount", "-o", "loop", image, at)
	t.Cleanup(func() { command(t, "umount", at) })
	return at, func() { command(t, "mount", "-o", "remount,abort", at) }, func() {
		command(t, "umount", at)
		command(t, "mount", "-o", "loop", image, at)
	}
}

// The disk becomes read-only at a moment of the run: as above, and nothing of what was
// synced before is lost.
func TestProcessOnADiskThatBecomesReadOnly(t *testing.T) {
	t.Parallel()
	sum := newFigures("read-only")
	rounds(t, *processFrozen, func(t *testing.T, n int) {
		random := randomOf(n, 4)
		disk, freeze, again := frozenDisk(t)
		folder := t.TempDir()
		plant, path := stand(t, folder, nil), filepath.Join(disk, "j.db")
		run := plant.loadOn(folder, path)
		ended := run.drained()
		if _, _, on := plant.until(60*time.Second, isLive); !on {
			t.Fatalf("it was never energised: %s", &run.errors)
		}
		<-time.After(time.Duration(random.IntN(3000)) * time.Millisecond)
		at := plant.truth().RunSeconds
		if hasEnded(ended) { // its journal was closed before the disk froze
			requireUnread(t, run.result, sum)
			return
		}
		freeze()
		if n%2 == 0 {
			stopAndMeasure(t, plant, run, random, sum)
		}
		<-ended
		assert.False(t, plant.truth().Live)
		told := replay.Has(run.result.Findings, fault.JournalUnwritable)
		requireUnread(t, run.result, sum)
		if told {
			refuses(t, plant, folder, path)
		} else {
			sum.count("tripped, and closed, before the disk froze")
			assert.NotNil(t, run.result.Trip, "%+v", run.result)
		}
		again()
		requireWholeRows(t, path, !told, run.result, sum) // what it did not tell of, it has
		kept := recorded(t, path, "last")
		last := 0.0
		for _, row := range kept.Rows {
			last = max(last, float64(row.T))
		}
		lost := max(0, at-last)
		sum.value("seconds of rows lost before the disk froze", lost)
		assert.LessOrEqual(t, lost, 4.0, "a second, and what this machine stood still")
	})
	sum.tell(t, *processFrozen)
}

func hasEnded(ended <-chan struct{}) bool {
	select {
	case <-ended:
		return true
	default:
		return false
	}
}

// refuses starts another load on a disk that takes nothing: it does not begin.
func refuses(t *testing.T, plant *stood, folder, path string) {
	t.Helper()
	next := plant.loadOn(folder, path)
	assert.Equal(t, statusCannot, next.end(), "%s", &next.errors)
	assert.True(t, strings.Contains(next.errors.String(), "read-only"), "%s", &next.errors)
	assert.False(t, plant.truth().Live)
}
