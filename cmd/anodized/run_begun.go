package main

import (
	"errors"
	"fmt"
)

// errNotBegun is a station that ended before it took the load: one that was taken ends with
// a result, whatever happens.
var errNotBegun = errors.New("no load was begun")

// notBegun says with the end of the events why the station ended. What it does first is to
// switch off, and one that cannot ends there: a supply that does not answer in its time, or a
// computer so busy that the answer is not heard in it.
func notBegun(err, cause error) error {
	switch {
	case !errors.Is(err, errNotBegun):
		return errors.Join(err, cause)
	case cause == nil:
		return fmt.Errorf("%w: the command was ended before the bench took it; start it again", err)
	}
	return fmt.Errorf("%w: %w: treat the output as live until a meter says otherwise; "+
		"check the supply's power and cable, and what else keeps this computer busy, then start again", err, cause)
}
