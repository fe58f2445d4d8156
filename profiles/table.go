package profiles

import (
	"encoding/csv"
	"fmt"
	"io/fs"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
)

// Table is the complex refractive index n - ik of a metal or an oxide. Wavelengths
// ascend strictly; K is never negative. Interpolate linearly, hold constant outside.
type Table struct {
	ID         string
	Use        string // what the table is good for
	Source     string // the paper, and who carries its numbers
	Nanometres []float64
	N, K       []float64
}

// ColourMatching are the colour matching functions of a standard observer.
type ColourMatching struct{ Nanometres, X, Y, Z []float64 }

// Light is the relative spectral power of a CIE illuminant, 380 to 780 nm by 5 nm.
type Light struct {
	ID                string
	Nanometres, Power []float64
}

// OpticalIDs lists the embedded optical tables.
func OpticalIDs() []string { return idsOf("optical", ".csv") }

// OpticalConstants gives an embedded optical table by its id, whatever the case.
func OpticalConstants(id string) (Table, error) {
	name := matching(id, OpticalIDs())
	if name == "" {
		return Table{}, fmt.Errorf("no optical table is called %q%s known: %s",
			brief(id), endSentence(didYouMean(id, OpticalIDs())), strings.Join(OpticalIDs(), ", "))
	}
	table, err := numbers(data, "data/optical/"+name+".csv", "wavelength_um", "n", "k")
	if err != nil {
		return Table{}, err
	}
	use, source, err := origin(name)
	return Table{name, use, source, table[0], table[1], table[2]}, err
}

// origin reads what the index says of a table.
func origin(id string) (use, source string, err error) {
	rows, err := records(data, "data/optical/index.csv")
	for _, row := range rows {
		if len(row) == 3 && row[0] == id {
			return row[1], row[2], nil
		}
	}
	if err == nil {
		err = fmt.Errorf("optical table %s has no source in its index", id)
	}
	return "", "", err
}

// Observer gives the CIE 1931 standard colorimetric observer (2 degrees), 360 to
// 830 nm by 1 nm.
func Observer() ColourMatching {
	t, err := numbers(data, "data/colorimetry/cie1931_2deg_1nm.csv", "wavelength_nm", "xbar", "ybar", "zbar")
	if err != nil {
		panic(fmt.Sprintf("profiles: embedded observer: %v", err)) // a broken build, not an input
	}
	return ColourMatching{t[0], t[1], t[2], t[3]}
}

// IlluminantIDs lists the embedded illuminants, the default first.
func IlluminantIDs() []string { return []string{"D65", "D50", "A", "C", "FL2", "LED-B3"} }

// Illuminant gives an embedded illuminant by its id, whatever the case.
func Illuminant(id string) (Light, error) {
	name := matching(id, IlluminantIDs())
	if name == "" {
		return Light{}, fmt.Errorf("no illuminant is called %q; known: %s", brief(id), strings.Join(IlluminantIDs(), ", "))
	}
	t, err := numbers(data, "data/colorimetry/illuminants_5nm.csv", "wavelength_nm", name)
	if err != nil {
		return Light{}, err
	}
	return Light{name, t[0], t[1]}, nil
}

// numbers reads columns of a table by their names. The first must ascend strictly;
// micrometres become nanometres, digit by digit.
func numbers(from fs.FS, file string, names ...string) ([][]float64, error) {
	rows, err := records(from, file)
	if err != nil {
		return nil, err
	}
	columns := make([][]float64, len(names))
	for c, name := range names {
		at := slices.Index(rows[0], name)
		if at < 0 {
			return nil, fmt.Errorf("%s has no column %q", path.Base(file), name)
		}
		for line, row := range rows[1:] {
			value, err := cell(row[at], name)
			if err != nil {
				return nil, fmt.Errorf("%s:%d: column %s: %w", path.Base(file), line+2, name, err)
			}
			columns[c] = append(columns[c], value)
		}
	}
	return columns, ascending(path.Base(file), columns[0])
}

// cell reads a number that is neither negative nor infinite, as every number of
// these tables is.
func cell(text, name string) (float64, error) {
	if strings.HasSuffix(name, "_um") {
		text += "e3"
	}
	value, err := strconv.ParseFloat(text, 64)
	if err == nil && (math.IsNaN(value) || math.IsInf(value, 0) || value < 0) {
		err = fmt.Errorf("%q is not a number of 0 or above", text)
	}
	return value, err
}

func ascending(file string, values []float64) error {
	for i := 1; i < len(values); i++ {
		if values[i] <= values[i-1] {
			return fmt.Errorf("%s:%d: wavelengths must ascend", file, i+2)
		}
	}
	return nil
}

func records(from fs.FS, file string) ([][]string, error) {
	f, err := from.Open(file)
	if err != nil {
		return nil, fmt.Errorf("embedded table: %w", err)
	}
	rows, err := csv.NewReader(f).ReadAll()
	if err == nil && len(rows) < 3 {
		err = fmt.Errorf("too few rows")
	}
	if err != nil {
		return nil, fmt.Errorf("embedded table %s: %w", path.Base(file), err)
	}
	return rows, f.Close()
}
