package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Answers asks whether the disk of a journal takes a write, and is ErrStalled where it has
// not answered within 5 s. Whoever opens a journal on a disk that stalls waits for as long
// as that does. Nothing is made, and what else is wrong with the disk is left to Open.
func Answers(path string) error { return answers(path, intentWithin, syncNearest) }

func answers(path string, within time.Duration, ask func(string)) error {
	answered := make(chan struct{})
	go func() { // it outlives a disk that never answers, and nothing waits for it
		defer close(answered)
		ask(path)
	}()
	limit := time.NewTimer(within)
	defer limit.Stop()
	select {
	case <-answered:
		return nil
	case <-limit.C:
		return fmt.Errorf("%s: %w: it took longer than %v for a write: look at the storage of this computer", path, ErrStalled, within)
	}
}

// syncNearest has the lock of a journal synced, with a change of its time so that there
// is something to sync, or, before there is a lock, the nearest folder.
func syncNearest(path string) {
	for next := lockPath(path); ; next = filepath.Dir(next) {
		file, err := os.Open(next)
		if errors.Is(err, fs.ErrNotExist) && next != filepath.Dir(next) {
			continue
		}
		if err == nil {
			awaitDisk(next)
			_ = errors.Join(file.Sync(), file.Close()) // only that it answered counts
		}
		return
	}
}
