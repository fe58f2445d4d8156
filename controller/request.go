package controller

import (
	"errors"

	"anodized/controller/plan"
	"anodized/profiles"
)

// Request is a load that a person wants to run: the plan and a frozen copy of
// everything that it was made from.
type Request struct {
	Plan        plan.Plan
	Profile     profiles.Profile
	Rack        profiles.Rack
	Metal       profiles.Metal
	Bath        profiles.Bath
	Calibration profiles.Calibration
	Operator    string
	Note        string
	StepUp      string // the recorded run whose parts this one grows on towards their colour; "" for none
	AfterStrip  string // the recorded run whose parts these are, stripped since; "" for none
	Seed        uint64
	LidFirst    bool // the lid was opened and closed before it, or it is refused; else it waits for that
}

// Why a start, an answer or an acknowledgement is refused.
var (
	ErrBusy          = errors.New("a load is under way: stop it, or wait until it has ended")
	ErrLatched       = errors.New("a trip is latched: acknowledge it first")
	ErrLidFirst      = errors.New("a start counts only within 3 minutes of the lid's closing, after it was opened since the last load: open the lid, hang the rack, close it, then start")
	ErrClosing       = errors.New("the record of the last load is still being written: try again in a moment")
	ErrNoQuestion    = errors.New("no question is open")
	ErrNothingToDo   = errors.New("no trip is latched")
	ErrNobody        = errors.New("an acknowledgement needs the name of a person")
	ErrRanBefore     = errors.New("a station runs once: make another")
	ErrStationClosed = errors.New("the station has been shut down")
)
