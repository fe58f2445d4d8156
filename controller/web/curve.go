package web

import (
	"fmt"
	"math"
	"net/http"
	"strconv"

	"anodized/controller"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/review"
)

// Curve is the energised part of a run, column by column. What was not read is null.
type Curve struct {
	Run       string              `json:"run"`
	Simulated bool                `json:"simulated"`
	Outcome   record.Outcome      `json:"outcome"`
	Area      float64             `json:"declared_area_cm2"`
	T         []controller.Number `json:"t_s"`
	Volts     []controller.Number `json:"volts"`
	Amperes   []controller.Number `json:"amperes"`
	Set       []controller.Number `json:"set_volts"`
	Density   []controller.Number `json:"current_density_ma_cm2"`
	Thickness []controller.Number `json:"thickness_by_volts_nm"`
	States    []Moment            `json:"states"`
}

// Moment is when a state began.
type Moment struct {
	T     float64 `json:"t_s"`
	State string  `json:"state"`
}

const mostPoints = 100_000

func showCurve(w http.ResponseWriter, r *http.Request, run record.Run) {
	points := mostPoints
	if text := r.URL.Query().Get("points"); text != "" {
		number, err := strconv.Atoi(text)
		if err != nil || number < 2 || number > mostPoints {
			fail(w, http.StatusBadRequest, Problem{Error: fmt.Sprintf("points must be a whole number from 2 to %d", mostPoints)})
			return
		}
		points = number
	}
	reply(w, http.StatusOK, curveOf(run, points))
}

// curveOf takes at most so many of the rows with the output on, evenly.
func curveOf(run record.Run, points int) Curve {
	area := float64(run.Intent.Plan.Area)
	curve := Curve{Run: run.ID, Simulated: run.Intent.Simulated || run.Result.Simulated, Outcome: run.Result.Outcome, Area: area,
		States: statesOf(run), T: []controller.Number{}, Volts: []controller.Number{}, Amperes: []controller.Number{},
		Set: []controller.Number{}, Density: []controller.Number{}, Thickness: []controller.Number{}}
	film := trace{points: review.OfRun(run).Trace}
	rows := energised(run.Rows)
	every := max(1, (len(rows)+points-1)/points)
	for i := 0; i < len(rows); i += every {
		row := rows[i]
		curve.T = append(curve.T, controller.Number(row.T))
		curve.Volts = append(curve.Volts, controller.Number(row.Volts))
		curve.Amperes = append(curve.Amperes, controller.Number(row.Amperes))
		curve.Set = append(curve.Set, controller.Number(row.Set))
		curve.Density = append(curve.Density, controller.Number(1000*float64(row.Amperes)/area))
		curve.Thickness = append(curve.Thickness, film.at(row))
	}
	return curve
}

func energised(rows []record.Row) []record.Row {
	var kept []record.Row
	for _, row := range rows {
		if process.State(row.State).Energised() {
			kept = append(kept, row)
		}
	}
	return kept
}

func statesOf(run record.Run) []Moment {
	list := []Moment{}
	for _, event := range run.Events {
		if event.Kind == controller.KindState {
			list = append(list, Moment{float64(event.T), event.Text})
		}
	}
	return list
}

// trace follows the estimates in step with the rows.
type trace struct {
	points []review.Point
	next   int
}

func (t *trace) at(row record.Row) controller.Number {
	for t.next < len(t.points) && t.points[t.next].T < row.T {
		t.next++
	}
	if t.next == len(t.points) {
		return controller.Number(math.NaN())
	}
	return controller.Number(t.points[t.next].ThicknessByVolts)
}
