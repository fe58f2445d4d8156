package mesh

import (
	"archive/zip"
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Read3MF reads a 3MF package of a given size. It returns the surface of the items on the
// build plate, with their transforms, and how many millimetres the model's unit is: a 3MF
// file says it, so none needs to be asked for.
//
// Source: 3MF Core Specification 1.4.0, clauses 2 to 4.
func Read3MF(r io.ReaderAt, size int64) (*Surface, float64, error) {
	archive, err := zip.NewReader(r, size)
	if err != nil {
		return nil, 0, fmt.Errorf("this is no 3MF file, whose container is a ZIP archive: %w", err)
	}
	file, err := modelPart(archive)
	if err != nil {
		return nil, 0, err
	}
	held, err := unpack(file)
	if err != nil {
		return nil, 0, err
	}
	millimetres, known := unitsOf3MF[held.unit]
	if !known {
		return nil, 0, fmt.Errorf("the 3MF file has its lengths in %.20q: want micron, millimeter, centimeter, inch, foot or meter", held.unit)
	}
	surface, err := held.built()
	return surface, millimetres, err
}

// unitsOf3MF are the units of the specification, in mm; none given is millimetres.
var unitsOf3MF = map[string]float64{
	"": 1, "micron": 1e-3, "millimeter": 1, "centimeter": 10, "inch": 25.4, "foot": 304.8, "meter": 1000,
}

// modelPart returns the part that holds the model. Producers name it as they like
// and say so in the package's relationships; all keep this ending.
func modelPart(archive *zip.Reader) (*zip.File, error) {
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
	return found, nil
}

// mostBytes bounds what is unpacked: a small archive may hold terabytes of blanks.
const mostBytes = 1 << 30

func unpack(file *zip.File) (model, error) {
	if file.UncompressedSize64 > mostBytes {
		return model{}, fmt.Errorf("the model is larger than %d MiB: export it coarser", mostBytes>>20)
	}
	part, err := file.Open()
	if err != nil {
		return model{}, fmt.Errorf("open the model of the 3MF file: %w", err)
	}
	held, err := readModel(bufio.NewReaderSize(io.LimitReader(part, mostBytes), bufferBytes))
	return held, errors.Join(err, part.Close())
}
