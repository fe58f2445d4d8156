package main

import (
	"fmt"
	"io"
	"strings"

	"anodized/controller/journal"
	"anodized/controller/record"
)

const simulatedMark = "SIMULATED"

func printRuns(w io.Writer, list []journal.Summary) error {
	t := newTable(w)
	t.row("run\tstarted\tprofile\track\toutcome\tvolts\tof\tenergised\t\tfindings")
	for _, s := range list {
		t.row("%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s", s.ID, s.StartedAt.Format("2006-01-02 15:04"), s.Profile, s.Rack,
			endOf(s.Outcome, s.Trip), figure(s.EndVolts, "%.2f V"), figure(s.TargetVolts, "%.2f V"),
			figure(s.EnergisedSeconds, "%.1f s"), markOf(s.Simulated), findingCodes(s))
	}
	return t.done()
}

func markOf(simulated bool) string {
	if simulated {
		return simulatedMark
	}
	return ""
}

func endOf(outcome record.Outcome, trip *record.Trip) string {
	if trip != nil {
		return fmt.Sprintf("%s: %s", outcome, trip.Code)
	}
	return string(outcome)
}

func findingCodes(s journal.Summary) string {
	var codes []string
	for _, code := range s.FindingCodes {
		if s.Trip == nil || code != s.Trip.Code { // the outcome has said that one
			codes = append(codes, string(code))
		}
	}
	return strings.Join(codes, " ")
}

// number is a number of a result, as show and compare print it.
type number struct {
	name   string
	field  string // in JSON
	format string
	of     func(record.Result) *float64
}

var numbers = []number{
	{"target", "target_volts", "%.2f V", func(r record.Result) *float64 { return r.TargetVolts }},
	{"end volts", "end_volts", "%.2f V", func(r record.Result) *float64 { return r.EndVolts }},
	{"formed to", "highest_volts", "%.2f V", func(r record.Result) *float64 { return r.HighestVolts }},
	{"end current", "end_current_amperes", "%.4f A", func(r record.Result) *float64 { return r.EndCurrent }},
	{"end density", "end_current_density_ma_cm2", "%.3f mA/cm2", func(r record.Result) *float64 { return r.EndDensity }},
	{"ramp", "ramp_seconds", "%.1f s", func(r record.Result) *float64 { return r.RampSeconds }},
	{"hold", "hold_seconds", "%.1f s", func(r record.Result) *float64 { return r.HoldSeconds }},
	{"energised", "energised_seconds", "%.1f s", func(r record.Result) *float64 { return r.EnergisedSeconds }},
	{"charge", "charge_coulombs", "%.2f C", func(r record.Result) *float64 { return r.Charge }},
	{"declared area", "declared_area_cm2", "%.1f cm2", func(r record.Result) *float64 { return r.DeclaredArea }},
	{"live area", "live_area_cm2", "%.1f cm2", func(r record.Result) *float64 { return r.LiveArea }},
	{"film by volts", "thickness_by_volts_nm", "%.1f nm", func(r record.Result) *float64 { return r.ThicknessByVolts }},
	{"film by charge", "thickness_by_charge_nm", "%.1f nm", func(r record.Result) *float64 { return r.ThicknessByCharge }},
	{"series resistance", "series_ohm", "%.2f ohm", func(r record.Result) *float64 { return r.SeriesOhm }},
}
