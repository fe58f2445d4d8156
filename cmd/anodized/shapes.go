package main

import (
	"fmt"
	"strings"
)

// shapes are what a part of a rack may be, each with a value that it may have.
var shapes = []struct{ key, example string }{
	{"ring", "{outside: 34 mm, bore: 28.6 mm, height: 10 mm}"},
	{"tube", "{outside: 0.5 in, bore: 0.4 in, length: 2 in}"},
	{"plate", "{length: 40 mm, width: 15 mm, thickness: 1 mm, holes: [{diameter: 3 mm, count: 1}]}"},
	{"cylinder", "{diameter: 12 mm, height: 120 mm}"},
	{"disc", "{diameter: 32 mm, thickness: 2 mm}"},
	{"prism", "{face area: 5.7 cm2, perimeter: 282 mm, length: 14 mm}"},
	{"area", "52.67 cm2"},
	{"mesh", "clamp.stl"},
	{"mass", "{each: 11.8 g, thickness: 2.7 mm, height: 10 mm}"},
}

// shapesHelp lists them as they stand in a rack file.
func shapesHelp() string {
	var b strings.Builder
	b.WriteString("A part of a rack has exactly one of these shapes:\n")
	for _, shape := range shapes {
		fmt.Fprintf(&b, "  %-9s %s\n", shape.key+":", shape.example)
	}
	b.WriteString("An STL mesh has no unit: mesh unit: in beside it, or else it is in mm; a 3MF file says its own.\n")
	b.WriteString("Its fixture is wires, wire: {diameter: 1.6 mm, wetted length: 60 mm, count: 8}, or areas, area: 3 cm2.")
	return b.String()
}
