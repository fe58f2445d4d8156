package plan

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"anodized/hal/unit"
	"anodized/profiles"
)

// Key is what a calibration is chosen by. What is "" or 0 is not known, and every
// calibration fits it equally well.
type Key struct {
	Metal, Finish, Bath string
	End                 unit.CurrentDensity // of the profile; 0 where the hold is timed
	Temperature         unit.Celsius        // of the bath
	Today               string              // year-month-day
	Renewed             string              // the day on which the bath was made up anew
	Simulated           bool                // for the virtual bench
}

// Choice is how a plan came by its calibration.
type Choice struct {
	By         string `json:"by"` // named, key, book or run
	Why        string `json:"why"`
	Considered int    `json:"considered,omitempty"` // that fit metal and bath
}

// The ways of a Choice.
const (
	ByName = "named" // a person named it
	ByKey  = "key"   // the best by metal, finish, bath, end, temperature and date
	ByBook = "book"  // none of the shop fits: the metal's book one
	ByRun  = "run"   // of a recorded run that is repeated
)

// warmer is how far a bath may be from its calibration before it is said, in kelvin:
// 0.7 % of film (from memory of capacitor practice); common practice.
const warmer unit.Celsius = 2

// Choose finds the calibration of a shop that fits a load best, and says why. Another
// metal or another bath never fits, and a SIMULATED one never a real bench. Of the rest
// it takes the one with the same finish, then one that is not stale, then one within 2 K,
// then one with the same end, then the newest; of the same day the one that comes first,
// so give the newest first. Which of two counts more is our choice.
func Choose(key Key, have []profiles.Calibration) (profiles.Calibration, Choice, bool) {
	var fit []profiles.Calibration
	for _, c := range have {
		if key.fits(c) {
			fit = append(fit, c)
		}
	}
	if len(fit) == 0 {
		return profiles.Calibration{}, Choice{}, false
	}
	slices.SortStableFunc(fit, func(a, b profiles.Calibration) int { return key.compare(a, b) })
	return fit[0], Choice{By: ByKey, Why: key.why(fit[0], len(fit)), Considered: len(fit)}, true
}

func (k Key) fits(c profiles.Calibration) bool {
	return c.Metal == k.Metal && c.Bath == k.Bath && !c.Book && (k.Simulated || !c.Simulated)
}

// compare puts the better one first.
func (k Key) compare(a, b profiles.Calibration) int {
	return cmp.Or(
		-boolCompare(k.Simulated && a.Simulated, k.Simulated && b.Simulated), // the virtual bench is its own bath
		cmp.Compare(k.finish(a), k.finish(b)),
		boolCompare(k.stale(a) != "", k.stale(b) != ""),
		boolCompare(k.otherTemperature(a), k.otherTemperature(b)),
		boolCompare(k.otherEnd(a), k.otherEnd(b)),
		-strings.Compare(a.Date, b.Date),
	)
}

func boolCompare(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// finish is 0 for the same, 1 where one of the two is not known, 2 for another.
func (k Key) finish(c profiles.Calibration) int {
	switch {
	case k.Finish == "" || c.Finish == "":
		return 1
	case sameWords(k.Finish, c.Finish):
		return 0
	}
	return 2
}

func sameWords(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}

func (k Key) otherTemperature(c profiles.Calibration) bool {
	off := k.Temperature - c.Temperature
	return k.Temperature != 0 && c.Temperature != 0 && max(off, -off) > warmer
}

func (k Key) otherEnd(c profiles.Calibration) bool {
	return k.End == 0 || !sameEnd(k.End, c.EndCurrentDensity)
}

// sameEnd: a hundredth of the end current is a part in 2,000 of the film.
func sameEnd(a, b unit.CurrentDensity) bool { return max(a-b, b-a) <= 0.01*b }

// why says what spoke for it and what does not fit.
func (k Key) why(c profiles.Calibration, of int) string {
	said := []string{"the only one"}
	if of > 1 {
		said[0] = fmt.Sprintf("the best of %d", of)
	}
	said[0] += fmt.Sprintf(" for %s in %s", k.Metal, k.Bath)
	switch k.finish(c) {
	case 0:
		said = append(said, "the same finish")
	case 2:
		said = append(said, fmt.Sprintf("for the finish %q", c.Finish))
	}
	if age, known := AgeInDays(c.Date, k.Today); known {
		said = append(said, fmt.Sprintf("%d days old", age))
	}
	if k.End != 0 && !k.otherEnd(c) {
		said = append(said, "the same end")
	} else {
		said = append(said, fmt.Sprintf("made with an end at %s", show(c.EndCurrentDensity)))
	}
	return strings.Join(said, "; ")
}
