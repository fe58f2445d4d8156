package main

import (
	"errors"
	"strings"
)

// unlessSaid joins to an error what more went wrong, and leaves out what it says already: a
// link that is gone fails the last off, and the off of whoever closes it then.
func unlessSaid(err, more error) error {
	if err == nil || more == nil {
		return errors.Join(err, more)
	}
	for _, one := range joined(more) {
		if !strings.Contains(err.Error(), one.Error()) {
			err = errors.Join(err, one)
		}
	}
	return err
}

// joined are the errors that were joined into one, or that one.
func joined(err error) (all []error) {
	if several, are := err.(interface{ Unwrap() []error }); are {
		said := ""
		for _, one := range several.Unwrap() {
			all, said = append(all, joined(one)...), said+"\n"+one.Error()
		}
		if said == "\n"+err.Error() { // else they are parts of a sentence
			return all
		}
	}
	return []error{err}
}
