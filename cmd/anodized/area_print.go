package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"anodized/controller/rack"
	"anodized/controller/rack/mesh"
	"anodized/hal/unit"
)

// table writes rows whose cells are parted by tabs, and keeps the first error.
type table struct {
	w   *tabwriter.Writer
	err error
}

func newTable(w io.Writer) *table { return &table{w: tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)} }

// row writes one row; what comes from a file or the record stays in its cell.
func (t *table) row(format string, args ...any) {
	if t.err == nil {
		_, t.err = fmt.Fprintf(t.w, format+"\n", spelt(args)...)
	}
}

func (t *table) done() error {
	if t.err != nil {
		return t.err
	}
	return t.w.Flush()
}

func printArea(w io.Writer, name string, r rack.Result) error {
	t := newTable(w)
	t.row("%s", name)
	t.row("part\tcount\teach cm2\t+-\tcm2\tfound by")
	for _, p := range r.Parts {
		t.row("%s\t%d\t%.3f\t%.2f\t%.2f\t%s", p.Name, p.Count, float64(p.Each), float64(p.Uncertainty), float64(p.Each)*float64(p.Count), p.Method)
		if len(p.Surfaces) > 1 {
			for _, s := range p.Surfaces {
				t.row("  %s\t\t%.3f\t\t\t%.0f %%", s.Name, float64(s.Area), 100*float64(s.Area)/sumOf(p.Surfaces))
			}
		}
		for _, m := range p.Masks {
			t.row("  masked: %s\t\t%.3f\t\t\tnot counted", m.Name, -float64(m.Area))
		}
		if p.Wetted != 1 || p.Roughness != 1 {
			t.row("  wetted fraction %g, roughness factor %g", p.Wetted, p.Roughness)
		}
	}
	if r.Coloured > 0 {
		t.row("coloured before, not counted\t\t\t\t%.2f", float64(r.Coloured))
	}
	if r.Fixture > 0 {
		t.row("fixture (fresh or stripped)\t\t\t\t%.2f", float64(r.Fixture))
	}
	t.row("total\t%d\t\t\t%.2f\t+- %.1f cm2, %s", r.Count, float64(r.Total), float64(r.Uncertainty), squareFeet(r.Total))
	return t.done()
}

func sumOf(surfaces []rack.Surface) float64 {
	total := 0.0
	for _, s := range surfaces {
		total += float64(s.Area)
	}
	return total
}

func squareFeet(area unit.SquareCentimetres) string {
	return fmt.Sprintf("%.4f ft2", float64(area)/929.0304)
}

// surfaceWord is what kind of surface a mesh is.
func surfaceWord(m mesh.Measured) string {
	switch {
	case m.Inverted:
		return "closed, inverted"
	case m.Closed:
		return "closed"
	}
	return "not closed"
}

func printMesh(w io.Writer, path string, m meshResult) error {
	t := newTable(w)
	t.row("%s", path)
	t.row("area\t%.3f cm2\t%s", float64(m.Area), squareFeet(m.Area))
	if m.Volume != nil {
		t.row("volume\t%.4f cm3", *m.Volume)
	}
	if m.Mass != nil {
		t.row("mass\t%.2f g\tin %s", *m.Mass, m.Metal)
	}
	if m.Difference != nil {
		t.row("weighed\t%.2f g\t%+.1f %%", *m.Weighed, *m.Difference)
	}
	t.row("box\t%.4g x %.4g x %.4g mm", float64(m.Bounds[0]), float64(m.Bounds[1]), float64(m.Bounds[2]))
	t.row("triangles\t%d\t%s", m.Triangles, surfaceWord(m.Measured))
	t.row("facets fall short by about\t%.3f cm2\t%.2f %%", float64(m.Shortfall), 100*float64(m.Shortfall/m.Area))
	return t.done()
}
