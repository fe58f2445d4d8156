package terminal

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"anodized/hal/unit"
)

func known[Q unit.Quantity](q Q) bool {
	return !math.IsNaN(float64(q)) && !math.IsInf(float64(q), 0)
}

// value prints a number with its decimals, or a dash where it is not known.
func value[Q unit.Quantity](q Q, decimals int) string {
	if !known(q) {
		return "-"
	}
	return fmt.Sprintf("%.*f", decimals, float64(q))
}

// short prints a density with two digits that count.
func short(j unit.CurrentDensity) string {
	switch {
	case j >= 10:
		return value(j, 0)
	case j >= 1:
		return value(j, 1)
	}
	return value(j, 2)
}

// clock prints seconds as minutes and seconds.
func clock(s unit.Seconds) string {
	whole := int(math.Round(float64(max(s, 0))))
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

// left is the time to the end, with its range where there is one.
func (v View) left() string {
	if !known(v.Left) {
		return ""
	}
	text := clock(v.Left) + " left"
	if known(v.LeastLeft) && known(v.MostLeft) {
		text += ", " + clock(v.LeastLeft) + " to " + clock(v.MostLeft)
	}
	return text
}

// stateWord is the state as it is called out.
func (v View) stateWord() string {
	return strings.ToUpper(strings.ReplaceAll(v.State, "-", " "))
}

// wrap breaks a text into lines no wider than a width, cut with an ellipsis after
// the last one.
func wrap(text string, width, most int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		longer := strings.TrimSpace(line + " " + word)
		if line != "" && len([]rune(longer)) > width && len(lines) < most-1 {
			lines, line = append(lines, line), word
			continue
		}
		line = longer
	}
	return append(lines, line)
}

// initial is the letter of a colour in a strip without colour.
func (s Swatch) initial() rune {
	words := strings.Fields(s.Name)
	if len(words) == 0 {
		return '?'
	}
	letter, _ := utf8.DecodeRuneInString(words[len(words)-1]) // of "pale straw" the s
	if !unicode.IsPrint(letter) {
		return '?'
	}
	return letter
}

func (v View) voltsWords() string {
	text := value(v.Volts, 1) + " V"
	if known(v.Target) {
		text += "   of " + value(v.Target, 1)
	}
	if v.Pace == ByVolts {
		text += ", sets the pace (CV)"
	}
	return text
}

func (v View) amperesWords() string {
	text := value(v.Amperes, 3) + " A   of " + value(v.Limit, 2)
	if v.Pace == ByAmperes {
		text += ", sets the pace (CC)"
	}
	return text + ", " + value(v.Density, 2) + " mA/cm2"
}

func (v View) filmWords() string {
	if v.Now.Name == "" {
		return "not known"
	}
	text := v.Now.Name + ", " + value(v.Now.Thickness, 1) + " nm by volts"
	if known(v.ByCharge) {
		text += ", " + value(v.ByCharge, 1) + " by charge"
	}
	return text
}

func (v View) wantedWords() string {
	if v.Wanted.Name == "" {
		return "not known"
	}
	return v.Wanted.Name + ", " + value(v.Wanted.Thickness, 1) + " nm"
}

func (v View) differenceWords() string {
	if math.IsNaN(v.DE00) {
		return "dE00 not known"
	}
	text := fmt.Sprintf("dE00 %.1f", v.DE00)
	if v.Now.Beyond || v.Wanted.Beyond {
		text += ", beyond this screen"
	}
	return text
}

// ageWords says how old the reading is, in seconds from the first late one on.
func (v View) ageWords() string {
	switch {
	case !known(v.Age):
		return "no reading"
	case v.Age > 3:
		return fmt.Sprintf("READING IS %.0f s OLD", float64(v.Age))
	}
	return fmt.Sprintf("read %.1f s ago", float64(v.Age))
}

func (l Line) words() string {
	if !known(l.T) {
		return "      " + l.Text
	}
	return fmt.Sprintf("%5s  %s", clock(l.T), l.Text)
}
