package web

import (
	"net/http"

	"anodized/controller"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Colours are the colours of a film from 0 to 260 nm, with where they come from.
type Colours struct {
	Calibration profiles.Calibration `json:"calibration"`
	Viewing     string               `json:"viewing"`
	StepNM      float64              `json:"step_nm"`
	Hex         []string             `json:"hex"`           // one a step, from 0 nm
	Beyond      []bool               `json:"beyond_screen"` // shown clipped
	Names       []NamedFrom          `json:"names"`
}

// NamedFrom is the name of the colours from some thickness on.
type NamedFrom struct {
	From int    `json:"from_nm"`
	Name string `json:"name"`
}

// viewing is how the colours are looked at.
const viewing = "computed, not read; daylight D65, 2 degree observer, square to the light"

func (s *Server) getColours(w http.ResponseWriter, _ *http.Request) {
	calibration := s.painter.calibration(s.Station.Snapshot())
	palette, err := s.painter.palette(calibration)
	if err != nil {
		fail(w, http.StatusInternalServerError, Problem{Error: err.Error()})
		return
	}
	colours := Colours{Calibration: calibration, Viewing: viewing, StepNM: 1}
	for nm, one := range palette.swatch {
		colours.Hex = append(colours.Hex, one.Hex)
		colours.Beyond = append(colours.Beyond, one.Beyond)
		if n := len(colours.Names); n == 0 || colours.Names[n-1].Name != one.Name {
			colours.Names = append(colours.Names, NamedFrom{nm, one.Name})
		}
	}
	reply(w, http.StatusOK, colours)
}

// Load is the load that runs, or ran last, with what its plan expects.
type Load struct {
	Name      string         `json:"load"` // changes with each load
	Run       string         `json:"run"`  // "" until its intent is durable
	Simulated bool           `json:"simulated"`
	Operator  string         `json:"operator"`
	Plan      plan.Plan      `json:"plan"`
	Forecast  Forecast       `json:"forecast"`
	Result    *record.Result `json:"result"` // null while it runs
}

// Forecast is the plan as a curve.
type Forecast struct {
	T         []controller.Number `json:"t_s"`
	Volts     []controller.Number `json:"volts"`
	Density   []controller.Number `json:"current_density_ma_cm2"`
	Thickness []controller.Number `json:"thickness_nm"`
}

// forecastPoints are how many points a forecast has, about.
const forecastPoints = 400

func (s *Server) getLoad(w http.ResponseWriter, _ *http.Request) {
	now := s.Station.Snapshot()
	if now.Load == nil {
		fail(w, http.StatusNotFound, Problem{Error: "no load has been started yet"})
		return
	}
	planned := now.Load.Request.Plan
	curve, err := forecast(planned)
	if err != nil {
		fail(w, http.StatusInternalServerError, Problem{Error: "follow the plan: " + err.Error()})
		return
	}
	load := Load{Name: loadName(now), Run: now.Run, Simulated: now.Simulated, Operator: now.Load.Request.Operator,
		Plan: planned, Forecast: curve}
	if !busy(now.State) {
		if load.Result = s.pump.result(); load.Result != nil {
			load.Run = load.Result.Run
		}
	}
	reply(w, http.StatusOK, load)
}

func forecast(p plan.Plan) (Forecast, error) {
	points, err := p.Trace((p.Expected.RampSeconds + p.Expected.HoldSeconds) / unit.Seconds(forecastPoints))
	f := Forecast{T: []controller.Number{}}
	for _, point := range points {
		f.T = append(f.T, controller.Number(point.Time))
		f.Volts = append(f.Volts, controller.Number(point.Volts))
		f.Density = append(f.Density, controller.Number(point.Amperes.Over(p.Area)))
		f.Thickness = append(f.Thickness, controller.Number(point.Thickness))
	}
	return f, err
}

// loadName tells one load from another.
func loadName(now *controller.Snapshot) string {
	if now.Load == nil {
		return ""
	}
	return now.Load.StartedAt.UTC().Format("20060102T150405.000000000")
}
