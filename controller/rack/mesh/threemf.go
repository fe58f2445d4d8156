package mesh

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Read3MF reads a 3MF package of a given size. It returns the triangles of the
// items on the build plate, with their transforms, and how many millimetres the
// model's unit is: a 3MF file says it, so none needs to be asked for.
//
// Source: 3MF Core Specification 1.4.0, clauses 2 to 4.
func Read3MF(r io.ReaderAt, size int64) ([]Triangle, float64, error) {
	archive, err := zip.NewReader(r, size)
	if err != nil {
		return nil, 0, fmt.Errorf("this is no 3MF file, whose container is a ZIP archive: %w", err)
	}
	content, err := modelPart(archive)
	if err != nil {
		return nil, 0, err
	}
	var model xmlModel
	if err := xml.Unmarshal(content, &model); err != nil {
		return nil, 0, fmt.Errorf("read the model of the 3MF file: %w", err)
	}
	millimetres, known := unitsOf3MF[model.Unit]
	if !known {
		return nil, 0, fmt.Errorf("the 3MF file has its lengths in %.20q: want micron, millimeter, centimeter, inch, foot or meter", model.Unit)
	}
	triangles, err := model.built()
	if err != nil {
		return nil, 0, err
	}
	triangles, err = some(triangles)
	return triangles, millimetres, err
}

// unitsOf3MF are the units of the specification, in mm; none given is millimetres.
var unitsOf3MF = map[string]float64{
	"": 1, "micron": 1e-3, "millimeter": 1, "centimeter": 10, "inch": 25.4, "foot": 304.8, "meter": 1000,
}

// modelPart returns the part that holds the model. Producers name it as they like
// and say so in the package's relationships; all keep this ending.
func modelPart(archive *zip.Reader) ([]byte, error) {
	var found *zip.File
	for _, file := range archive.File {
		if !strings.HasSuffix(strings.ToLower(file.Name), ".model") {
			continue
		}
		if found != nil {
			return nil, errors.New("the 3MF file holds more than one model part: export the one part alone")
		}
		found = file
	}
	if found == nil {
		return nil, errors.New("the 3MF file holds no model part: export it again")
	}
	return unpack(found)
}

func unpack(file *zip.File) ([]byte, error) {
	part, err := file.Open()
	if err != nil {
		return nil, fmt.Errorf("open the model of the 3MF file: %w", err)
	}
	content, err := io.ReadAll(io.LimitReader(part, mostBytes+1))
	if err = errors.Join(err, part.Close()); err != nil {
		return nil, fmt.Errorf("read the model of the 3MF file: %w", err)
	}
	if len(content) > mostBytes {
		return nil, fmt.Errorf("the model is larger than %d MiB: export it coarser", mostBytes>>20)
	}
	return content, nil
}
