package main

import (
	"fmt"

	"anodized/controller/calibrate"
	"anodized/hal/unit"
	"anodized/profiles"
)

// ladderAnswer is a fit as programs read it.
type ladderAnswer struct {
	Calibration ladderCalibrationAs `json:"calibration"`
	RMS         float64             `json:"rms_de00"`
	Largest     float64             `json:"largest_de00"`
	Scatter     *float64            `json:"scatter_lab"` // of an axis; null: too few readings to say
	Verdict     calibrate.Verdict   `json:"verdict"`
	Reasons     []string            `json:"reasons"`
	Notes       []string            `json:"notes"`
	Rivals      []rivalAs           `json:"rivals"`
	Readings    []ladderReadingAs   `json:"readings"`
	Tables      []tablesAs          `json:"tables,omitempty"`
	Out         string              `json:"out,omitempty"`
	Saved       bool                `json:"saved"`
}

type ladderCalibrationAs struct {
	profiles.Calibration
	IndexScale  float64 `json:"index_scale"`
	ScaleSD     float64 `json:"index_scale_sd"` // 0 where it was not fitted
	ScaleFitted bool    `json:"index_scale_fitted"`
	Optical     float64 `json:"optical_nm_per_volt"` // at the index of the table: what colour fixes
	OpticalSD   float64 `json:"optical_nm_per_volt_sd"`
	FilmIndex   float64 `json:"film_index"` // of the table, at 550 nm
}

type rivalAs struct {
	NMPerVolt float64         `json:"nm_per_volt"`
	Offset    unit.Nanometres `json:"offset_nm"`
	RMS       float64         `json:"rms_de00"`
}

type ladderReadingAs struct {
	Volts     unit.Volts      `json:"volts"`
	AtEnd     unit.Volts      `json:"volts_at_end"` // that make this film at the calibration's end
	DE00      float64         `json:"de00"`
	Outlier   bool            `json:"outlier"`
	Cause     *causeAs        `json:"cause"` // null where it is no outlier
	Thickness unit.Nanometres `json:"thickness_nm"`
	FilmSD    unit.Nanometres `json:"thickness_nm_sd"`
	Lab       [3]float64      `json:"Lab"`
	Expected  [3]float64      `json:"expected_Lab"`
	Spot      string          `json:"spot,omitempty"`
}

type causeAs struct {
	Code     calibrate.CauseCode `json:"code"`
	Message  string              `json:"message"`
	Volts    unit.Volts          `json:"volts"` // whose colour it has
	VoltsOff unit.Volts          `json:"volts_off"`
	Order    int                 `json:"order"`
	With     *int                `json:"swapped_with"` // the other reading, from 0
	Axis     string              `json:"axis,omitempty"`
	Expected float64             `json:"expected,omitempty"`
}

type tablesAs struct {
	Film      string  `json:"film"`
	Substrate string  `json:"substrate"`
	RMS       float64 `json:"rms_de00"`
}

func (w *ladderFit) answer() ladderAnswer {
	fit := &w.fit
	a := ladderAnswer{
		Calibration: ladderCalibrationAs{w.calibration, fit.IndexScale, fit.IndexScaleSD, fit.ScaleFitted, fit.OpticalNMPerVolt, fit.OpticalSD, fit.FilmIndex},
		RMS:         fit.RMS, Largest: fit.Largest, Verdict: fit.Verdict, Reasons: append([]string{}, fit.Reasons...),
		Notes: append(append([]string{}, w.notes...), fit.Notes...), Rivals: []rivalAs{}, Saved: w.saved,
	}
	if fit.Freedom > 0 {
		a.Scatter = &fit.Scatter
	}
	if w.good() {
		a.Out = w.flags.out
	}
	for _, r := range fit.Rivals {
		a.Rivals = append(a.Rivals, rivalAs(r))
	}
	for _, r := range fit.Readings {
		a.Readings = append(a.Readings, readingAs(r))
	}
	for _, p := range w.tables {
		a.Tables = append(a.Tables, tablesAs{p.Film.ID, p.Substrate.ID, p.RMS})
	}
	return a
}

func readingAs(r calibrate.Judged) ladderReadingAs {
	as := ladderReadingAs{Volts: r.Volts, AtEnd: r.AtEnd, DE00: r.DE00, Outlier: r.Wrong, Thickness: r.Film, FilmSD: r.FilmSD,
		Lab: r.Lab.Array(), Expected: r.Expected.Array(), Spot: r.Spot}
	if r.Wrong {
		c := r.Cause
		as.Cause = &causeAs{Code: c.Code, Message: r.WhatToSay, Volts: c.Volts, VoltsOff: c.VoltsOff, Order: c.Order, Axis: c.Axis, Expected: c.Expected}
		if c.With >= 0 {
			as.Cause.With = &c.With
		}
	}
	return as
}

func (w *ladderFit) show(e env) error {
	if w.flags.asJSON {
		return printJSON(e.stdout, w.answer())
	}
	return w.print(e)
}

func (w *ladderFit) print(e env) error {
	fit, c := &w.fit, w.calibration
	t := newTable(e.stdout)
	t.row("%scalibration %s\t%s, %s on %s, end at %s", simulatedWord(c.Simulated), c.ID, w.metal.Name, c.Film, c.Substrate, unit.Format(c.EndCurrentDensity))
	t.row("")
	t.row("nm per volt\t%.4f +- %.4f nm/V\toptical, at n = %.3f", fit.NMPerVolt, fit.NMPerVoltSD, fit.FilmIndex)
	t.row("offset\t%.2f +- %.2f nm\tcorrelation %.2f", float64(fit.Offset), float64(fit.OffsetSD), fit.Correlation)
	if fit.ScaleFitted {
		t.row("index scale\t%.4f +- %.4f\tindex times nm/V known to +- %.4f nm/V", fit.IndexScale, fit.IndexScaleSD, fit.OpticalSD)
	}
	t.row("readings\tdE00 %.2f in the mean, %.2f at most\t%d used of %d", fit.RMS, fit.Largest, c.Readings, len(fit.Readings))
	t.row("")
	t.row("V\tnm\t+- nm\tL*\ta*\tb*\tdE00\t")
	for _, r := range fit.Readings {
		t.row("%.4g\t%.1f\t%.2f\t%.1f\t%.1f\t%.1f\t%.2f\t%s", float64(r.Volts), float64(r.Film), float64(r.FilmSD), r.Lab.L, r.Lab.A, r.Lab.B, r.DE00, outlierWords(r))
	}
	t.row("")
	t.row("verdict\t%s", fit.Verdict)
	if err := t.done(); err != nil {
		return err
	}
	return w.printWords(e)
}

func outlierWords(r calibrate.Judged) string {
	if r.Wrong {
		return "WRONG, left out: " + r.WhatToSay
	}
	return r.Spot
}

func (w *ladderFit) printWords(e env) error {
	p := &printer{out: e.stdout}
	for _, reason := range w.fit.Reasons {
		p.line("  because  %s", reason)
	}
	for _, note := range append(append([]string{}, w.notes...), w.fit.Notes...) {
		p.line("  note     %s", note)
	}
	if w.flags.out != "" && w.good() {
		p.line("  written  %s: anodized plan --calibration %s", w.flags.out, w.flags.out)
	}
	if w.saved {
		p.line("  kept     in the journal as %s", w.calibration.ID)
	}
	if p.err != nil {
		return fmt.Errorf("show the fit: %w", p.err)
	}
	return nil
}
