package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"anodized/controller/rack"
	"anodized/profiles"
)

func init() { commands = append(commands, newAreaCommand) }

type areaFlags struct {
	metal, mesh, meshUnit, mass string
	json                        bool
}

func newAreaCommand(e env) *cobra.Command {
	var f areaFlags
	command := &cobra.Command{
		Use:   "area [RACK | RACK.yaml | -]",
		Short: "wetted area of a rack or of a mesh",
		Long: "Wetted area of what hangs in the bath: each part, the fixture, the total, and how well\n" +
			"each is known. A rack is an embedded one by its name, a file, or - for standard input.\n\n" + shapesHelp(),
		Example: `  anodized area "eight headset spacers"
  anodized area my-rack.yaml --json
  anodized area --mesh clamp.stl --unit mm
  anodized area --mesh clamp.3mf --mass "33.8 g"`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return area(e, f, args) },
	}
	flags := command.Flags()
	flags.StringVar(&f.metal, "metal", profiles.DefaultMetal, "metal of parts that are given by their mass")
	flags.StringVar(&f.mesh, "mesh", "", "measure an STL or 3MF file instead of a rack (- for standard input)")
	flags.StringVar(&f.meshUnit, "unit", usualMeshUnit, "unit of an STL file's lengths: mm or in (3MF says its own)")
	flags.StringVar(&f.mass, "mass", "", "with --mesh: what a part weighs, such as 33.8 g, held against volume and metal")
	flags.BoolVar(&f.json, "json", false, "print one JSON object")
	return command
}

func area(e env, f areaFlags, args []string) error {
	switch {
	case f.mesh != "" && len(args) > 0:
		return badInput(fmt.Errorf("give either a rack or --mesh, not both"))
	case f.mesh != "":
		return meshArea(e, f)
	case f.mass != "":
		return badInput(fmt.Errorf("--mass goes with --mesh: a rack has the key mass for its parts"))
	case len(args) == 0:
		return badInput(fmt.Errorf("name a rack (%s), a rack file, - for standard input, or --mesh FILE.stl or FILE.3mf", strings.Join(profiles.RackNames(), ", ")))
	}
	return rackArea(e, f, args[0])
}

func rackArea(e env, f areaFlags, arg string) error {
	r, doubts, err := measuredRack(arg, e.stdin)
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
	if err := tellDoubts(e, doubts); err != nil {
		return err
	}
	if f.json {
		return printJSON(e.stdout, struct {
			Rack string `json:"rack"`
			rack.Result
		}{r.Name, result})
	}
	return printArea(e.stdout, r.Name, result)
}
