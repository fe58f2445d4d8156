package colour

import (
	"fmt"
	"math"
	"sort"

	"anodized/hal/unit"
)

// Chart is a surface over a range of volts. It does not change and may be shared.
type Chart struct {
	surface *Surface
	scale   Scale
	from    unit.Volts
	step    unit.Volts
	labs    []Lab
}

// Candidate is a place on a chart where the colour comes nearest to a wanted one.
type Candidate struct {
	Volts     unit.Volts
	Thickness unit.Nanometres
	Order     int
	DE00      float64 // to the wanted colour
	Lab       Lab
	Screen    Screen
}

// MostRows bounds a chart.
const MostRows = 100_000

// Chart works out the colours from some volts to others in steps. The last row is at
// or below the end of the range.
func (s *Surface) Chart(scale Scale, from, to, step unit.Volts) (*Chart, error) {
	rows := math.Floor(float64((to-from)/step) + 1e-9)
	switch {
	case !(step > 0):
		return nil, fmt.Errorf("chart of colours: the step is %g V, it must be above 0 V", float64(step))
	case !(from >= 0 && to >= from):
		return nil, fmt.Errorf("chart of colours: it goes from %g V to %g V, it must start at or above 0 V and not fall", float64(from), float64(to))
	case !(rows < MostRows):
		return nil, fmt.Errorf("chart of colours: %g rows, the most are %d; take a larger step", rows+1, MostRows)
	}
	c := &Chart{surface: s, scale: scale, from: from, step: step, labs: make([]Lab, int(rows)+1)}
	c.paint()
	return c, nil
}

// paint works out the colours. A scale may say that the first volts make no film; from
// there on the film grows evenly.
func (c *Chart) paint() {
	first := 0
	for first < len(c.labs) && c.scale.Thickness(c.Volts(first)) <= 0 {
		c.labs[first] = c.surface.Lab(0)
		first++
	}
	perRow := unit.Nanometres(c.scale.NMPerVolt * float64(c.step))
	c.surface.Labs(c.scale.Thickness(c.Volts(first)), perRow, c.labs[first:])
}

// Len returns the number of rows.
func (c *Chart) Len() int { return len(c.labs) }

// Volts returns the volts of a row.
func (c *Chart) Volts(row int) unit.Volts { return c.from + unit.Volts(row)*c.step }

// Lab returns the colour of a row.
func (c *Chart) Lab(row int) Lab { return c.labs[row] }

// View returns all there is to say about a row.
func (c *Chart) View(row int) View { return c.surface.At(c.scale, c.Volts(row)) }

// Best returns up to n places where the colour comes nearest to a wanted one, best
// first: every dip of the difference along the chart, refined between its rows.
// Orders often look alike: the volts, not the colour, tell them apart.
func (c *Chart) Best(want Lab, n int) []Candidate {
	found := make([]Candidate, 0, 16)
	before, here := math.Inf(1), Difference(want, c.labs[0])
	for i := range c.labs {
		after := math.Inf(1)
		if i+1 < len(c.labs) {
			after = Difference(want, c.labs[i+1])
		}
		if here < before && here <= after {
			found = append(found, c.refine(want, i, here))
		}
		before, here = here, after
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].DE00 < found[j].DE00 })
	found = found[:min(n, len(found))]
	for i := range found {
		found[i].Screen = c.surface.Screen(found[i].Thickness)
	}
	return found
}

// refine returns the dip around a row.
func (c *Chart) refine(want Lab, row int, atRow float64) Candidate {
	low, high := c.Volts(max(0, row-1)), c.Volts(min(len(c.labs)-1, row+1))
	v, off := dip(func(v float64) float64 {
		return Difference(want, c.surface.Lab(c.scale.Thickness(unit.Volts(v))))
	}, float64(low), float64(high), 1e-4)
	if atRow <= off {
		v = float64(c.Volts(row))
	}
	d := c.scale.Thickness(unit.Volts(v))
	lab := c.surface.Lab(d)
	return Candidate{Volts: unit.Volts(v), Thickness: d, Order: c.surface.Order(d), DE00: Difference(want, lab), Lab: lab}
}
