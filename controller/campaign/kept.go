package campaign

import (
	"fmt"
	"math"

	"anodized/controller/process"
	"anodized/controller/record"
)

// take looks at a row on its way to the record.
func (k *Kept) take(row record.Row, whole bool) {
	k.Rows++
	if whole {
		k.Run.Rows = append(k.Run.Rows, row)
	}
	k.check(row)
	if process.State(row.State).Energised() {
		k.Gap = math.Max(k.Gap, float64(row.T)-k.Last)
		k.Last = float64(row.T)
	}
}

// check: commands are numbers always, readings where they were read.
func (k *Kept) check(row record.Row) {
	for _, x := range [...]struct {
		name  string
		value float64
		known bool
	}{
		{"T", float64(row.T), true}, {"set", float64(row.Set), true}, {"limit", float64(row.Limit), true},
		{"volts", float64(row.Volts), false}, {"amperes", float64(row.Amperes), false}, {"bath", float64(row.Bath), false},
	} {
		if math.IsInf(x.value, 0) || math.IsNaN(x.value) && x.known || math.Abs(x.value) > mostPlausible {
			k.Wrong = fmt.Sprintf("%s of %v", x.name, x.value)
		}
	}
}
