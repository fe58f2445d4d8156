package main

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"anodized/controller/rack"
	"anodized/controller/rack/mesh"
	"anodized/hal/unit"
	"anodized/profiles"
)

func init() { commands = append(commands, newAreaCommand) }

type areaFlags struct {
	metal, mesh, meshUnit string
	json                  bool
}

func newAreaCommand(e env) *cobra.Command {
	var f areaFlags
	command := &cobra.Command{
		Use:   "area [RACK | RACK.yaml | -]",
		Short: "wetted area of a rack or of a mesh",
		Long: "Wetted area of what hangs in the bath: each part, the fixture, the total, and how well\n" +
			"each is known. A rack is an embedded one by its name, a file, or - for standard input.",
		Example: `  anodized area "eight headset spacers"
  anodized area my-rack.yaml --json
  anodized area --mesh clamp.stl --unit mm`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return area(e, f, args) },
	}
	flags := command.Flags()
	flags.StringVar(&f.metal, "metal", profiles.DefaultMetal, "metal of parts that are given by their mass")
	flags.StringVar(&f.mesh, "mesh", "", "measure an STL or 3MF file instead of a rack (- for standard input)")
	flags.StringVar(&f.meshUnit, "unit", "mm", "unit of an STL file's lengths: mm or in (3MF says its own)")
	flags.BoolVar(&f.json, "json", false, "print one JSON object")
	return command
}

func area(e env, f areaFlags, args []string) error {
	switch {
	case f.mesh != "" && len(args) > 0:
		return badInput(fmt.Errorf("give either a rack or --mesh, not both"))
	case f.mesh != "":
		return meshArea(e, f)
	case len(args) == 0:
		return badInput(fmt.Errorf("name a rack (%s), a rack file, - for standard input, or --mesh FILE.stl or FILE.3mf", strings.Join(profiles.RackNames(), ", ")))
	}
	return rackArea(e, f, args[0])
}

func rackArea(e env, f areaFlags, arg string) error {
	r, err := openRack(arg, e.stdin)
	if err != nil {
		return badInput(err)
	}
	metal, err := profiles.OpenMetal(f.metal, nil)
	if err != nil {
		return badInput(err)
	}
	result, err := rack.Area(r, metal.Density)
	if err != nil {
		return badInput(err)
	}
	if f.json {
		return printJSON(e.stdout, struct {
			Rack string `json:"rack"`
			rack.Result
		}{r.Name, result})
	}
	return printArea(e.stdout, r.Name, result)
}

// openRack opens a rack and measures its meshes, so that it is whole.
func openRack(arg string, stdin io.Reader) (profiles.Rack, error) {
	r, err := profiles.OpenRack(arg, stdin)
	if err != nil {
		return r, err
	}
	for i := range r.Parts {
		shape := &r.Parts[i].Shape
		if shape.Mesh == "" || shape.Area != 0 {
			continue
		}
		measured, err := measureMesh(shape.Mesh, nil, 1) // a rack's STL meshes are in mm
		if err != nil {
			return r, fmt.Errorf("rack %q, part %q: %w", r.Name, r.Parts[i].Name, err)
		}
		shape.Area = measured.Area
	}
	return r, nil
}

func meshArea(e env, f areaFlags) error {
	millimetres := map[string]float64{"mm": 1, "in": 25.4}[f.meshUnit]
	if millimetres == 0 {
		return badInput(fmt.Errorf("--unit %q: a mesh has no unit of its own: give mm or in", f.meshUnit))
	}
	measured, err := measureMesh(f.mesh, e.stdin, millimetres)
	if err != nil {
		return badInput(err)
	}
	for _, doubt := range meshDoubts(measured, f.meshUnit) {
		if _, err := fmt.Fprintln(e.stderr, "anodized:", doubt); err != nil {
			return cannot(err)
		}
	}
	if f.json {
		return printJSON(e.stdout, measured)
	}
	return printMesh(e.stdout, f.mesh, measured)
}

// measureMesh reads a mesh; the millimetres are those of an STL file's unit, while
// 3MF says its own.
func measureMesh(path string, stdin io.Reader, millimetres float64) (mesh.Measured, error) {
	ending := strings.ToLower(filepath.Ext(path))
	if ending != ".stl" && ending != ".3mf" && path != "-" {
		return mesh.Measured{}, fmt.Errorf("mesh %q: STL and 3MF are read: export the part as one of them, or give its area", path)
	}
	content, err := profiles.ReadFile(path, stdin)
	if err != nil {
		return mesh.Measured{}, fmt.Errorf("mesh: %w", err)
	}
	var triangles []mesh.Triangle
	if ending == ".3mf" || bytes.HasPrefix(content, []byte("PK\x03\x04")) {
		triangles, millimetres, err = mesh.Read3MF(bytes.NewReader(content), int64(len(content)))
	} else {
		triangles, err = mesh.ReadSTL(bytes.NewReader(content))
	}
	if err != nil {
		return mesh.Measured{}, fmt.Errorf("mesh %q: %w", path, err)
	}
	measured := mesh.Measure(triangles, millimetres)
	if measured.Triangles == 0 {
		return mesh.Measured{}, fmt.Errorf("mesh %q: no triangle of it has an area: export the part again", path)
	}
	return measured, nil
}

// meshDoubts says where a unit looks wrong, or the surface has holes.
func meshDoubts(m mesh.Measured, name string) []string {
	const smallest, largest = unit.Millimetres(2), unit.Millimetres(500) // of a part of such a shop: our choice
	var doubts []string
	if most := max(m.Bounds[0], m.Bounds[1], m.Bounds[2]); most < smallest || most > largest {
		doubts = append(doubts, fmt.Sprintf("the part is %.4g mm long (STL read in %s): is that its unit?", float64(most), name))
	}
	if m.Inverted {
		doubts = append(doubts, "the surface is inverted: its triangles face inwards; area and volume are right all the same")
	}
	if !m.Closed {
		doubts = append(doubts, "the surface is not closed: its area is what is there, its volume is not known")
	}
	return doubts
}
