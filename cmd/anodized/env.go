package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"anodized/hal/hwmon"
)

// env is the world that a command sees, so that tests can give it another.
type env struct {
	stdin    io.Reader
	stdout   io.Writer
	stderr   io.Writer
	getenv   func(string) string
	terminal bool   // stdout is a terminal
	hwmon    string // folder of the board's monitors; "": none
}

func osEnv() env {
	return env{stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr, getenv: os.Getenv, hwmon: hwmon.Folder, terminal: isTerminal(os.Stdout) && canDraw(os.Getenv("TERM"))}
}

// canDraw tells whether a terminal of this name moves its cursor and has colours.
func canDraw(term string) bool { return term != "" && term != "dumb" }

// The exit statuses that outsiders rely on.
const (
	statusDone     = 0
	statusNotRight = 1 // the job was done but did not come out right
	statusBadInput = 2 // nothing energised, nothing written
	statusCannot   = 3 // the station cannot or may not
)

// statusError is an error with the exit status that it asks for.
type statusError struct {
	status int
	err    error
}

func (e statusError) Error() string { return e.err.Error() }
func (e statusError) Unwrap() error { return e.err }

func badInput(err error) error { return statusError{statusBadInput, err} }
func cannot(err error) error   { return statusError{statusCannot, err} }
func notRight(err error) error { return statusError{statusNotRight, err} }

// errQuiet is wrapped where the result line has said everything already.
var errQuiet = errors.New("")

func exitStatus(stderr io.Writer, err error) int {
	if err == nil {
		return statusDone
	}
	if !errors.Is(err, errQuiet) {
		fmt.Fprintln(stderr, "anodized:", err)
	}
	var status statusError
	if errors.As(err, &status) {
		return status.status
	}
	return statusBadInput // what cobra itself refuses: an unknown flag, a missing argument
}
