package profiles

import "anodized/hal/unit"

// Rack is what hangs in the bath.
type Rack struct {
	Name     string     `json:"name"`
	Parts    []Part     `json:"parts"`
	Fixture  []Fixture  `json:"fixture,omitempty"`
	FormedTo unit.Volts `json:"formed_to_volts,omitempty"` // the parts already carry a film formed at these volts
	Coloured []Coloured `json:"coloured,omitempty"`        // by earlier stages; hangs beside the parts' exposed area
	Note     string     `json:"note,omitempty"`
}

// Part is a number of like parts.
type Part struct {
	Name       string  `json:"name"`
	Count      int     `json:"count"`
	Shape      Shape   `json:"shape"`
	Wetted     float64 `json:"wetted_fraction"`  // share of the surface that the bath reaches, above 0 to 1; default 1
	Roughness  float64 `json:"roughness_factor"` // true over projected area, 1 to 5; default 1
	Masks      []Mask  `json:"masks,omitempty"`
	HeatNumber string  `json:"heat_number,omitempty"`
	Finish     string  `json:"finish,omitempty"`
}

// Shape is exactly one of its fields.
type Shape struct {
	Ring     *Ring                  `json:"ring,omitempty"`
	Tube     *Ring                  `json:"tube,omitempty"` // as a ring; the word of those who think of length
	Plate    *Plate                 `json:"plate,omitempty"`
	Cylinder *Cylinder              `json:"cylinder,omitempty"`
	Disc     *Cylinder              `json:"disc,omitempty"` // a flat cylinder: diameter and thickness
	Prism    *Prism                 `json:"prism,omitempty"`
	Area     unit.SquareCentimetres `json:"area_cm2,omitempty"`
	Mesh     string                 `json:"mesh,omitempty"`      // path of an STL or 3MF file, beside the rack file
	MeshUnit string                 `json:"mesh_unit,omitempty"` // of an STL file's lengths: mm or in; "": mm, or a 3MF file's own
	Mass     *Mass                  `json:"mass,omitempty"`
}

// Ring is a hollow cylinder, bore and both ends wetted.
type Ring struct {
	Outside unit.Millimetres `json:"outside_mm"`
	Bore    unit.Millimetres `json:"bore_mm"`
	Height  unit.Millimetres `json:"height_mm"`
	Chamfer unit.Millimetres `json:"chamfer_mm,omitempty"` // 45 degrees, on both outer edges
	Holes   []Hole           `json:"holes,omitempty"`      // radial, through one wall
}

// Plate is a rectangular plate.
type Plate struct {
	Length    unit.Millimetres `json:"length_mm"`
	Width     unit.Millimetres `json:"width_mm"`
	Thickness unit.Millimetres `json:"thickness_mm"`
	Holes     []Hole           `json:"holes,omitempty"`
}

// Cylinder is a solid cylinder: for a disc, Height is its thickness.
type Cylinder struct {
	Diameter unit.Millimetres `json:"diameter_mm"`
	Height   unit.Millimetres `json:"height_mm"`
	Holes    []Hole           `json:"holes,omitempty"` // axial, through the height
}

// Prism is an extrusion of any outline: area and whole perimeter (holes counted) of its end face.
type Prism struct {
	FaceAreaCM2 unit.SquareCentimetres `json:"face_area_cm2"`
	Perimeter   unit.Millimetres       `json:"perimeter_mm"`
	Length      unit.Millimetres       `json:"length_mm"`
	Holes       []Hole                 `json:"holes,omitempty"` // across the extrusion, each with the thickness it goes through
}

// Hole is a number of like through holes. Depth is needed only where the shape does not give it.
type Hole struct {
	Diameter unit.Millimetres `json:"diameter_mm"`
	Depth    unit.Millimetres `json:"depth_mm,omitempty"`
	Count    int              `json:"count"`
}

// Mass gives the area of a part of even wall from its mass: density from the metal, or given here in g/cm3.
type Mass struct {
	Each      unit.Grams       `json:"each_grams"`
	Thickness unit.Millimetres `json:"thickness_mm"`
	Height    unit.Millimetres `json:"height_mm,omitempty"` // of a ring; 0: a sheet without edges
	Density   float64          `json:"density_g_cm3,omitempty"`
}

// Fixture is what else draws current: wires and hooks, wetted and bare.
type Fixture struct {
	Name string                 `json:"name,omitempty"`
	Wire *Wire                  `json:"wire,omitempty"`
	Area unit.SquareCentimetres `json:"area_cm2,omitempty"`
}

// Wire is a number of like wires, one end of each in the bath.
type Wire struct {
	Diameter     unit.Millimetres `json:"diameter_mm"`
	WettedLength unit.Millimetres `json:"wetted_length_mm"`
	Count        int              `json:"count"`
}
