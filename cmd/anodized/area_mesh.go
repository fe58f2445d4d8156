package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"anodized/controller/rack/mesh"
	"anodized/hal/unit"
	"anodized/profiles"
)

// meshResult is what area --mesh says.
type meshResult struct {
	mesh.Measured
	Mass       *float64 `json:"mass_grams"`              // of that volume in that metal
	Weighed    *float64 `json:"weighed_grams,omitempty"` // as given
	Difference *float64 `json:"mass_difference_percent,omitempty"`
	Metal      string   `json:"metal"`
	Doubts     []string `json:"doubts"`
}

func meshArea(e env, f areaFlags) error {
	millimetres := millimetresOf(f.meshUnit)
	if millimetres == 0 {
		return badInput(fmt.Errorf("--unit %q: a mesh has no unit of its own: give %s", f.meshUnit, strings.Join(profiles.MeshUnits, " or ")))
	}
	measured, err := measureMesh(f.mesh, e.stdin, millimetres)
	if err != nil {
		return badInput(err)
	}
	result := meshResult{Measured: measured, Doubts: meshDoubts(measured, f.meshUnit)}
	if err := result.weigh(f); err != nil {
		return badInput(err)
	}
	if err := tellDoubts(e, result.Doubts); err != nil {
		return err
	}
	if f.json {
		return printJSON(e.stdout, result)
	}
	return printMesh(e.stdout, f.mesh, result)
}

// usualMeshUnit is that of an STL file where nobody said another.
const usualMeshUnit = "mm"

func millimetresOf(name string) float64 { return map[string]float64{"mm": 1, "in": 25.4}[name] }

// massDoubt is from which difference on a part is not that of its mesh, in per cent: scales
// and densities are good to one. Our choice.
const massDoubt = 3

// weigh holds the mass of the volume against what a part weighs.
func (r *meshResult) weigh(f areaFlags) error {
	metal, err := profiles.OpenMetal(f.metal, nil)
	if err != nil {
		return err
	}
	r.Metal = metal.ID
	if r.Volume != nil {
		grams := *r.Volume * metal.Density
		r.Mass = &grams
	}
	if f.mass == "" {
		return nil
	}
	weighed, err := unit.ParseWithin[unit.Grams](f.mass, 0.001, 100000)
	if err != nil {
		return fmt.Errorf("--mass: %w", err)
	}
	if r.Mass == nil {
		return errors.New("--mass: the volume of a surface that is not closed is not known, so its mass is not: export the part again, or leave --mass out")
	}
	grams := float64(weighed)
	difference := 100 * (grams / *r.Mass - 1)
	r.Weighed, r.Difference = &grams, &difference
	if math.Abs(difference) > massDoubt {
		r.Doubts = append(r.Doubts, fmt.Sprintf("the part weighs %.4g g, and this mesh in %s would weigh %.4g g, %+.1f %%: another metal, unit or part, or holes that one of both has not", grams, metal.Name, *r.Mass, difference))
	}
	return nil
}

func tellDoubts(e env, doubts []string) error {
	for _, doubt := range doubts {
		if _, err := fmt.Fprintln(e.stderr, "anodized:", doubt); err != nil {
			return cannot(err)
		}
	}
	return nil
}

// openRack opens a rack and measures its meshes, so that it is whole.
func openRack(arg string, stdin io.Reader) (profiles.Rack, error) {
	r, _, err := measuredRack(arg, stdin)
	return r, err
}

// measuredRack also says what is doubtful about its meshes.
func measuredRack(arg string, stdin io.Reader) (r profiles.Rack, doubts []string, err error) {
	if r, err = profiles.OpenRack(arg, stdin); err != nil {
		return r, nil, err
	}
	for i := range r.Parts {
		part := &r.Parts[i]
		for k := range part.Masks {
			mask := &part.Masks[k]
			if mask.Mesh == "" || mask.Area != 0 {
				continue
			}
			measured, err := measureMesh(mask.Mesh, nil, millimetresOf(or(mask.MeshUnit, usualMeshUnit))) // a piece of the surface is never closed
			if err != nil {
				return r, nil, fmt.Errorf("rack %q, part %q, mask %q: %w", r.Name, part.Name, mask.Name, err)
			}
			mask.Area = measured.Area
		}
		shape := &part.Shape
		if shape.Mesh == "" || shape.Area != 0 {
			continue
		}
		in := or(shape.MeshUnit, usualMeshUnit)
		measured, err := measureMesh(shape.Mesh, nil, millimetresOf(in))
		if err != nil {
			return r, nil, fmt.Errorf("rack %q, part %q: %w", r.Name, part.Name, err)
		}
		shape.Area = measured.Area
		for _, doubt := range meshDoubts(measured, in) {
			doubts = append(doubts, fmt.Sprintf("part %q, mesh %q: %s", part.Name, shape.Mesh, doubt))
		}
	}
	return r, doubts, nil
}

// measureMesh reads a mesh as it comes; the millimetres are those of an STL file's unit,
// while 3MF says its own.
func measureMesh(path string, stdin io.Reader, millimetres float64) (measured mesh.Measured, err error) {
	ending := strings.ToLower(filepath.Ext(path))
	if ending != ".stl" && ending != ".3mf" && path != "-" {
		return measured, fmt.Errorf("mesh %q: STL and 3MF are read: export the part as one of them, or give its area", path)
	}
	from, shut, err := openMesh(path, stdin)
	if err != nil {
		return measured, fmt.Errorf("mesh: %w", err)
	}
	defer func() { err = errors.Join(err, shut()) }()
	surface, own, err := readMesh(from)
	if err != nil {
		return measured, fmt.Errorf("mesh %q: %w", path, err)
	}
	if own > 0 {
		millimetres = own
	}
	if measured = surface.Measure(millimetres); measured.Triangles == 0 {
		return measured, fmt.Errorf("mesh %q: no triangle of it has an area: export the part again", path)
	}
	return measured, nil
}

func openMesh(path string, stdin io.Reader) (io.Reader, func() error, error) {
	if path == "-" {
		if stdin == nil {
			return nil, nil, errors.New("- is standard input, and there is none here")
		}
		return stdin, func() error { return nil }, nil
	}
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, nil, fmt.Errorf("cannot read it: %w", err)
	case !info.Mode().IsRegular():
		return nil, nil, fmt.Errorf("%s is no regular file: name a file, or - for standard input", path)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, nil, fmt.Errorf("cannot read it: %w", err)
	}
	return file, file.Close, nil
}

// readMesh tells a 3MF package from an STL file by its first bytes, and returns the
// millimetres that a 3MF file says.
func readMesh(from io.Reader) (*mesh.Surface, float64, error) {
	in := bufio.NewReader(from)
	start, err := in.Peek(4)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, 0, fmt.Errorf("read it: %w", err)
	}
	if !bytes.Equal(start, []byte("PK\x03\x04")) {
		surface, err := mesh.ReadSTL(in)
		return surface, 0, err
	}
	if file, ok := from.(*os.File); ok {
		if info, err := file.Stat(); err == nil && info.Mode().IsRegular() {
			return mesh.Read3MF(file, info.Size())
		}
	}
	content, err := profiles.ReadFile("-", in)
	if err != nil {
		return nil, 0, err
	}
	return mesh.Read3MF(bytes.NewReader(content), int64(len(content)))
}

// facetDoubt is from which estimated shortfall on a mesh is called coarse, as a share of
// its area: the end current is short by as much. Our choice.
const facetDoubt = 0.0025

// meshDoubts says where a unit looks wrong, or the surface has flaws.
func meshDoubts(m mesh.Measured, name string) []string {
	const smallest, largest = unit.Millimetres(2), unit.Millimetres(500) // of a part of such a shop: our choice
	doubts := []string{}
	say := func(format string, args ...any) { doubts = append(doubts, fmt.Sprintf(format, args...)) }
	if most := max(m.Bounds[0], m.Bounds[1], m.Bounds[2]); most < smallest || most > largest {
		say("the part is %.4g mm long (STL read in %s): is that its unit?", float64(most), name)
	}
	if m.Inverted {
		say("the surface is inverted: its triangles face inwards; area and volume are right all the same")
	}
	if !m.Closed {
		say("the surface is not closed: its area is what is there, its volume is not known (%s)", flawWords(m.Flaws))
	}
	if share := float64(m.Shortfall / m.Area); math.Abs(share) > facetDoubt {
		say("the facets fall short of the curves that they stand for by about %.2f %% of the area: export it finer, or add it", 100*share)
	}
	return doubts
}

// flawWords counts what keeps a surface from being closed.
func flawWords(f mesh.Flaws) string {
	var words []string
	for _, flaw := range []struct {
		count int
		what  string
	}{
		{f.Open, "edges of one facet alone"}, {f.Crowded, "edges of more than two facets"},
		{f.Duplicates, "facets that are there twice, counted once"}, {f.Turned, "facets that face the other way than those round them"},
	} {
		if flaw.count > 0 {
			words = append(words, fmt.Sprintf("%d %s", flaw.count, flaw.what))
		}
	}
	if len(words) == 0 {
		return "no volume between its facets"
	}
	return strings.Join(words, ", ")
}
