package main

import (
	"errors"
	"fmt"
	"time"

	"anodized/controller/journal"
)

// errDiskStalls is why a journal is not read.
var errDiskStalls = errors.New("the journal's disk does not answer")

// readWithin is how long a disk may take until a journal is open to be read.
const readWithin = 10 * time.Second

// readers are the journals that are being opened: one that was given up keeps its place
// until its disk answers, so that in a daemon no crowd of them gathers.
var readers = make(chan struct{}, 8)

// openReading opens a journal to be read, and says so where its disk stalls.
func openReading(path string) (*journal.Reader, error) {
	return openWithin(path, readWithin, readers, journal.OpenReadOnly)
}

func openWithin(path string, within time.Duration, places chan struct{}, open func(string) (*journal.Reader, error)) (*journal.Reader, error) {
	type opened struct {
		reader *journal.Reader
		err    error
	}
	select {
	case places <- struct{}{}:
	default:
		return nil, cannot(fmt.Errorf("%s: %w to those who asked before: look at the storage of this computer", path, errDiskStalls))
	}
	done, given := make(chan opened), make(chan struct{})
	go func() {
		defer func() { <-places }()
		reader, err := open(path)
		select {
		case done <- opened{reader, err}:
		case <-given:
			if reader != nil {
				_ = reader.Close() // nobody wants it any more
			}
		}
	}()
	limit := time.NewTimer(within)
	defer limit.Stop()
	select {
	case one := <-done:
		return one.reader, one.err
	case <-limit.C:
		close(given)
		return nil, cannot(fmt.Errorf("%s: %w within %v: look at the storage of this computer", path, errDiskStalls, within))
	}
}
