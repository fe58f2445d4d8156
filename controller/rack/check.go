package rack

import (
	"fmt"
	"math"

	"anodized/hal/unit"
)

type dimension struct {
	name  string
	value unit.Millimetres
}

func allPositive(dimensions ...dimension) error {
	for _, d := range dimensions {
		if _, err := positive(d.name, float64(d.value), "mm"); err != nil {
			return err
		}
	}
	return nil
}

// positive also refuses NaN and infinity.
func positive(name string, value float64, unitName string) (float64, error) {
	if !(value > 0) || math.IsInf(value, 0) {
		return 0, fmt.Errorf("%s is %g %s: give more than 0 %s", name, value, unitName, unitName)
	}
	return value, nil
}

// orOne reads a factor that was not given, 0, as the 1 that it stands for.
func orOne(factor float64) float64 {
	if factor == 0 {
		return 1
	}
	return factor
}

func sum(surfaces []Surface) float64 {
	total := 0.0
	for _, s := range surfaces {
		total += float64(s.Area)
	}
	return total
}

func square(x float64) float64 { return x * x }
