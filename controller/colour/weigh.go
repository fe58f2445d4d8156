package colour

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"anodized/profiles"
)

// The band of the sums, inclusive, in nm.
const (
	firstNM = 380
	lastNM  = 780
)

var errTable = errors.New("must have at least two wavelengths, rising, and as many finite values")

// weight is what one wavelength adds to X, Y and Z where all its light comes back.
type weight struct{ x, y, z float64 }

// weights returns the weights of the band in steps: 100 S xbar/sum(S ybar) and so
// on, both tables linear between their rows.
func weights(o profiles.ColourMatching, i profiles.Light, stepNM int) ([]weight, error) {
	if err := checkTables(o, i); err != nil {
		return nil, err
	}
	all := make([]weight, 0, (lastNM-firstNM)/stepNM+1)
	var sum float64
	for nm := firstNM; nm <= lastNM; nm += stepNM {
		at := float64(nm)
		power := linear(i.Nanometres, i.Power, at)
		y := power * linear(o.Nanometres, o.Y, at)
		all = append(all, weight{power * linear(o.Nanometres, o.X, at), y, power * linear(o.Nanometres, o.Z, at)})
		sum += y
	}
	for k := range all {
		all[k] = weight{100 * all[k].x / sum, 100 * all[k].y / sum, 100 * all[k].z / sum}
	}
	return all, nil
}

// White returns the white of an illuminant for an observer, by the same sums, in
// steps of 5 or 1 nm.
func White(o profiles.ColourMatching, i profiles.Light, stepNM int) (XYZ, error) {
	if err := checkStep(stepNM); err != nil {
		return XYZ{}, err
	}
	all, err := weights(o, i, stepNM)
	if err != nil {
		return XYZ{}, err
	}
	return whiteOf(all), nil
}

func whiteOf(all []weight) XYZ {
	var white XYZ
	for _, w := range all {
		white.X += w.x
		white.Y += w.y
		white.Z += w.z
	}
	return white
}

func checkStep(stepNM int) error {
	if stepNM != 5 && stepNM != 1 {
		return fmt.Errorf("step of the sums is %d nm, it is 5 or 1", stepNM)
	}
	return nil
}

func checkTables(o profiles.ColourMatching, i profiles.Light) error {
	if err := checkColumns(o.Nanometres, o.X, o.Y, o.Z); err != nil {
		return fmt.Errorf("observer %w", err)
	}
	if err := checkColumns(i.Nanometres, i.Power); err != nil {
		return fmt.Errorf("illuminant %q %w", i.ID, err)
	}
	for name, nm := range map[string][]float64{"observer": o.Nanometres, "illuminant": i.Nanometres} {
		if nm[0] > firstNM || nm[len(nm)-1] < lastNM {
			return fmt.Errorf("%s covers %g to %g nm, it must cover %d to %d nm", name, nm[0], nm[len(nm)-1], firstNM, lastNM)
		}
	}
	return nil
}

func checkColumns(nm []float64, columns ...[]float64) error {
	if len(nm) < 2 || !sort.SliceIsSorted(nm, func(i, j int) bool { return nm[i] <= nm[j] }) {
		return errTable
	}
	for _, column := range columns {
		if len(column) != len(nm) {
			return errTable
		}
		for _, value := range column {
			if math.IsNaN(value) || math.IsInf(value, 0) {
				return errTable
			}
		}
	}
	return nil
}

func linear(x, y []float64, at float64) float64 {
	i := sort.SearchFloat64s(x, at)
	if x[i] == at {
		return y[i]
	}
	return y[i-1] + (at-x[i-1])/(x[i]-x[i-1])*(y[i]-y[i-1])
}
