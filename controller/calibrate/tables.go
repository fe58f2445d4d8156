package calibrate

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"anodized/profiles"
)

// Pair is a film and a metal, and how well they describe a ladder.
type Pair struct {
	Film, Substrate profiles.Table
	RMS             float64 // CIEDE2000 of the readings that were used
	Wrong           int     // readings that were named
	score           float64
}

// Pairs fits a ladder with each of some tables of the film on each of some of the metal,
// with the index as it stands in the table, and returns them best first. A reading that
// is far off counts by a bounded measure.
func Pairs(l Ladder, films, substrates []profiles.Table) ([]Pair, error) {
	var pairs []Pair
	l.Scale = ScaleFixed
	for _, film := range films {
		for _, substrate := range substrates {
			l.Film, l.Substrate = film, substrate
			fit, err := FitLadder(l)
			if err != nil {
				return nil, fmt.Errorf("try %s on %s: %w", film.ID, substrate.ID, err)
			}
			pairs = append(pairs, fit.pair(l))
		}
	}
	slices.SortStableFunc(pairs, func(a, b Pair) int { return cmp.Compare(a.score, b.score) })
	return pairs, nil
}

func (fit *Fit) pair(l Ladder) Pair {
	p := Pair{Film: l.Film, Substrate: l.Substrate, RMS: fit.RMS}
	for _, r := range fit.Readings {
		p.score += math.Min(r.DE00, 10) * math.Min(r.DE00, 10)
		if r.Wrong {
			p.Wrong++
		}
	}
	if !l.Range.holds(fit.NMPerVolt) {
		p.score += 100
	}
	return p
}
