package journal

import (
	"fmt"

	"anodized/controller/record"
)

// nearTarget is how near to its target a film counts as having reached it: 0.2 V is a
// colour difference of 0.4 to 0.7 on titanium, computed.
const nearTarget = 0.2 // V

// advise says how far a run had come that was cut off, and what can be done with its
// parts. Nothing goes on by itself: a person plans, hangs and starts.
func advise(result *record.Result) {
	formed, target := result.HighestVolts, result.TargetVolts
	if formed == nil || target == nil {
		result.Reasons = []string{
			"cut off before a reading of it came to the record, of which at most the last second is missing: nothing resumes",
			"look at the parts: if they are bare, start again from " + planFrom(result.Run),
		}
		return
	}
	result.Reasons = []string{fmt.Sprintf("cut off with the parts formed to about %.1f V of %.1f V%s: nothing resumes", *formed, *target, filmWords(result))}
	if *formed < *target-nearTarget {
		result.Reasons = append(result.Reasons, fmt.Sprintf("a film only grows, so the same parts can go on to the same %.1f V as a new run: %s; what the supply did after the last row is not known, "+
			"so they may be formed a little higher", *target, planFrom(result.Run)))
		return
	}
	result.Reasons = append(result.Reasons, fmt.Sprintf("the volts were reached and the hold was not finished%s: look at the colour first; where it is not there yet, a new run to the same volts finishes the hold", densityWords(result)))
}

func planFrom(run string) string { return "anodized plan --from " + run }

func filmWords(result *record.Result) (words string) {
	for _, one := range []struct {
		value *float64
		text  string
	}{
		{result.ThicknessByVolts, "film %.0f nm by volts"}, {result.ThicknessByCharge, "%.0f nm by charge"}, {result.Charge, "%.1f C"},
	} {
		if one.value != nil {
			words += ", " + fmt.Sprintf(one.text, *one.value)
		}
	}
	return words
}

func densityWords(result *record.Result) string {
	if result.EndDensity == nil {
		return ""
	}
	return fmt.Sprintf(" (%.2f mA/cm2 at the last row)", *result.EndDensity)
}
