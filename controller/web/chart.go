package web

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/hal/unit"
	"anodized/profiles"
)

// The range of the chart on its page, the volts from row to row, and from one column
// of its rule to the next, and from one number below it to the next.
const (
	chartEnds unit.Volts = 110
	chartRow  unit.Volts = 5
	chartFine unit.Volts = 0.5
	chartTick unit.Volts = 10
)

// chartView is the chart of a bath in the words of its page.
type chartView struct {
	Title      string
	Simulated  bool
	Indicative bool // colours of this metal are a hint only
	Book       bool // not measured in a bath of the shop
	Provenance string
	Viewing    string
	Facts      []Fact
	Rule       []chartColumn
	Wide       float64 // of the rule, in volts
	Axis       []string
	Rows       []chartLine
}

// chartColumn is a colour of the rule, by volts.
type chartColumn struct {
	At, Wide float64
	Hex      string
}

// chartLine is a row of the chart.
type chartLine struct {
	Volts, Thickness, Tolerance, PerVolt string
	Lab                                  string
	Order                                int
	Swatch
}

var chartPage = template.Must(template.New("chart.html").ParseFS(pageFS, "page/chart.html"))

// getChart is the chart of the calibration of the load, or of the usual one before the
// first.
func (s *Server) getChart(w http.ResponseWriter, _ *http.Request) {
	now := s.Station.Snapshot()
	calibration := s.painter.calibration(now)
	if strings.TrimSpace(calibration.Provenance) == "" {
		fail(w, http.StatusNotFound, Problem{Error: "there is no chart: calibration " + calibration.ID + " does not say where it comes from"})
		return
	}
	view, err := s.painter.chart(calibration)
	view.Simulated = now.Simulated || calibration.Simulated
	view.Facts = append(view.Facts, Fact{Name: "shown", Value: s.Now().Format("2006-01-02")})
	var body bytes.Buffer
	if err == nil {
		err = chartPage.Execute(&body, view)
	}
	if err != nil {
		s.Log.Error("the chart could not be written", "error", err)
		fail(w, http.StatusInternalServerError, Problem{Error: "the chart could not be written: " + err.Error()})
		return
	}
	send(w, http.StatusOK, "text/html; charset=utf-8", body.Bytes())
}

func (p *painter) chart(c profiles.Calibration) (chartView, error) {
	palette, err := p.palette(c)
	if err != nil {
		return chartView{}, err
	}
	metal, indicative := metalWords(c.Metal)
	view := chartView{Title: "Colours of " + metal, Indicative: indicative, Book: c.Book, Viewing: viewing,
		Provenance: c.ID + ": " + c.Provenance, Facts: chartFacts(c), Wide: float64(chartEnds)}
	scale := colour.ScaleFor(c, film.Law{}, c.EndCurrentDensity) // its own end: nothing to convert
	for v := unit.Volts(0); v < chartEnds; v += chartFine {
		view.Rule = append(view.Rule, chartColumn{float64(v), 1.2 * float64(chartFine), swatchOf(palette.surface, scale.Thickness(v+chartFine/2)).Hex})
	}
	for v := unit.Volts(0); v <= chartEnds; v += chartTick {
		view.Axis = append(view.Axis, unit.Format(v))
	}
	for v := unit.Volts(0); v <= chartEnds; v += chartRow {
		view.Rows = append(view.Rows, chartLineOf(palette.surface.At(scale, v)))
	}
	return view, nil
}

func chartLineOf(v colour.View) chartLine {
	return chartLine{
		Volts: fmt.Sprintf("%g", float64(v.Volts)), Thickness: fmt.Sprintf("%.1f", float64(v.Thickness)),
		Tolerance: fmt.Sprintf("±%.2f", float64(v.Tolerance.DE1)), PerVolt: fmt.Sprintf("%.1f", v.PerVolt), Order: v.Order,
		Lab:    fmt.Sprintf("%.0f, %.0f, %.0f", v.Lab.L+0, v.Lab.A+0, v.Lab.B+0),
		Swatch: Swatch{Hex: v.Screen.Hex(), Name: v.Name, Beyond: !v.Screen.InGamut},
	}
}

// metalWords is the name of an embedded metal, and whether its colours are a hint only;
// a metal of the shop is called as it calls it.
func metalWords(id string) (name string, indicative bool) {
	if slices.Contains(profiles.MetalIDs(), id) {
		if metal, err := profiles.OpenMetal(id, nil); err == nil {
			return metal.Name, metal.Indicative
		}
	}
	return id, false
}

func chartFacts(c profiles.Calibration) []Fact {
	said := func(text, otherwise string) string {
		if text == "" {
			return otherwise
		}
		return text
	}
	reach := "not said"
	if c.ToVolts > 0 {
		reach = unit.Format(c.FromVolts) + " to " + unit.Format(c.ToVolts)
	}
	return []Fact{
		{Name: "calibration", Value: c.ID},
		{Name: "date", Value: said(c.Date, "none given")},
		{Name: "bath", Value: said(c.Bath, "not said")},
		{Name: "finish", Value: said(c.Finish, "not said")},
		{Name: "law", Value: fmt.Sprintf("%.4g nm/V and %.3g nm", c.NMPerVolt, float64(c.Offset))},
		{Name: "end of the hold", Value: unit.Format(c.EndCurrentDensity)},
		{Name: "coupons", Value: reach},
		{Name: "volts known", Value: fmt.Sprintf("to ±%.1f V at 30 V, ±%.1f V at 90 V (1 sd)",
			float64(c.ThicknessSD(30))/c.NMPerVolt, float64(c.ThicknessSD(90))/c.NMPerVolt)},
	}
}
