package journal

import (
	"errors"
	"math"
	"slices"

	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/controller/replay"
	"anodized/hal/unit"
)

// Decays says whose decays are asked: the loads on a metal in a bath, those of a virtual
// bench or those of a real one.
type Decays struct {
	Metal, Bath string
	At          unit.CurrentDensity // at which the softness is wanted, above 0
	Simulated   bool
}

// Softness collects the softness of the growth law from the decays of the good loads of
// a bath, the newest of them: complete ones, without a warning, as history takes them,
// whatever their rack and volts. A load whose hold was too short to tell is left out.
func (r *Reader) Softness(of Decays) (record.Softness, error) {
	found := record.Softness{At: of.At}
	names, err := r.goodLoads(func(in record.Intent) bool {
		return in.Metal.ID == of.Metal && in.Bath.ID == of.Bath && in.Simulated == of.Simulated
	})
	if err != nil {
		return found, err
	}
	var all []float64
	for _, name := range names {
		run, err := r.Run(name)
		if errors.Is(err, ErrDamaged) {
			continue // verify names it; it is no proof of anything
		}
		if err != nil {
			return found, err
		}
		if u := softnessOf(run, of.At); !math.IsNaN(u) {
			all, found.Runs = append(all, u), append(found.Runs, name)
		}
	}
	if len(all) > 0 {
		found.Median, found.SD = middle(all), plan.Shares(all).SD
	}
	return found, nil
}

// softnessOf looks at the decay of a run by the law that its plan believed in, and again
// by the law that it then shows: the series resistance, which slows the start of a hold,
// is told from the film by the law.
func softnessOf(run record.Run, at unit.CurrentDensity) float64 {
	u := math.NaN()
	for range looks {
		next := replay.OfRun(run).Watch.SoftnessAt(at)
		if !(next > 0) || math.IsInf(next, 0) {
			return math.NaN()
		}
		u, run.Intent.Plan.Law = next, run.Intent.Plan.Law.Softened(next, at)
	}
	return u
}

// looks brings a law that is twice as stiff as was believed within a few parts in a hundred.
const looks = 3

func middle(of []float64) float64 {
	sorted := slices.Sorted(slices.Values(of))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}
