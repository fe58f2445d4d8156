package web

import (
	"errors"
	"fmt"
	"time"
)

// errNotInTime is why somebody gets no answer of what waits for the disk.
var errNotInTime = errors.New("the disk does not answer")

// inTime does what may wait for a disk that stalls, and gives up waiting for it. What was
// given up keeps its place until the disk comes back, so that no crowd of them gathers.
func inTime[T any](places chan struct{}, within time.Duration, do func() (T, error)) (T, error) {
	var none T
	select {
	case places <- struct{}{}:
	default:
		return none, fmt.Errorf("%w to those who asked before: look at the storage of this computer, and try again", errNotInTime)
	}
	done, limit := make(chan outcome[T], 1), time.NewTimer(within)
	defer limit.Stop()
	go func() {
		defer func() { <-places }()
		done <- carefully(do)
	}()
	select {
	case one := <-done:
		if one.panicked != nil {
			panic(one.panicked) // in the goroutine of the request, whose server survives it
		}
		return one.value, one.err
	case <-limit.C:
		return none, fmt.Errorf("%w within %v: look at the storage of this computer, and try again", errNotInTime, within)
	}
}

type outcome[T any] struct {
	value    T
	err      error
	panicked any
}

func carefully[T any](do func() (T, error)) (one outcome[T]) {
	defer func() { one.panicked = recover() }()
	one.value, one.err = do()
	return one
}
