//go:build !unix

package bench

import "errors"

type lock struct{}

func takeLock(string) (*lock, error) {
	return nil, errors.New("take the bench: this system has no file locks that end with the process; run on Linux")
}

// Close lets go of the bench.
func (*lock) Close() error { return nil }
