package choose

import (
	"math"
	"sort"

	"anodized/controller/colour"
)

// What counts as near the wanted hue: so many degrees, and never another colour at
// a glance.
const (
	nearHue  = 12.0
	nearDE00 = 6.0
)

// flattest returns the row near the wanted hue where a volt moves the colour least.
func (e *Eye) flattest(want colour.Lab) (row int, found bool) {
	least, hue := math.Inf(1), want.LCh()
	for i := range e.chart.Len() {
		if colour.Difference(want, e.chart.Lab(i)) > nearDE00 || math.Abs(turn(hue, e.chart.Lab(i).LCh())) > nearHue {
			continue
		}
		if move := e.perVolt(i); move < least {
			least, row, found = move, i, true
		}
	}
	return row, found
}

// perVolt is how far the colour moves in the volt around a row; at the ends of the
// chart, by the half volt that there is.
func (e *Eye) perVolt(row int) float64 {
	low, high := max(0, row-rowsInVolt/2), min(e.chart.Len()-1, row+rowsInVolt/2)
	if low == high {
		return 0
	}
	return colour.Difference(e.chart.Lab(low), e.chart.Lab(high)) * rowsInVolt / float64(high-low)
}

// stretches returns the middle row of each stretch of volts that bears a name, the most
// forgiving first.
func (e *Eye) stretches(name string) []int {
	var rows []int
	for from := 0; from < e.chart.Len(); from++ {
		to := from
		for to < e.chart.Len() && e.name(to) == name {
			to++
		}
		if to > from {
			rows = append(rows, (from+to-1)/2)
			from = to
		}
	}
	sort.SliceStable(rows, func(i, j int) bool { return e.perVolt(rows[i]) < e.perVolt(rows[j]) })
	return rows
}

// Names returns the names that the films of the chart bear, in the order in which
// rising volts meet them first.
func (e *Eye) Names() []string {
	var names []string
	known := map[string]bool{}
	for i := range e.chart.Len() {
		if name := e.name(i); !known[name] {
			known[name] = true
			names = append(names, name)
		}
	}
	return names
}
