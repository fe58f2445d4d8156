package profiles

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"anodized/hal/unit"
)

// quantity reads a number with its unit, from least to most.
func quantity[T unit.Quantity](to *T, least, most T) reader {
	return valued(func(s string) error {
		value, err := unit.ParseWithin(s, least, most)
		*to = value
		return err
	})
}

// duration reads a time for the clock of a device.
func duration(to *time.Duration, least, most unit.Seconds) reader {
	return valued(func(s string) error {
		value, err := unit.ParseWithin(s, least, most)
		if err == nil {
			*to = time.Duration(math.Round(float64(value) * float64(time.Second)))
		}
		return err
	})
}

// number reads a plain number, or one that must carry exactly this unit.
func number(to *float64, symbol string, least, most float64) reader {
	return valued(func(s string) error {
		value, err := plain(s, symbol)
		if err != nil {
			return err
		}
		if value < least || value > most {
			return fmt.Errorf("%q is out of range; allowed is %s to %s", brief(s), withUnit(least, symbol), withUnit(most, symbol))
		}
		*to = value
		return nil
	})
}

func plain(s, symbol string) (float64, error) {
	if symbol == "" {
		return unit.ParseNumber(s)
	}
	return unit.ParseAs(s, symbol)
}

func withUnit(value float64, symbol string) string {
	return strings.TrimSpace(strconv.FormatFloat(value, 'g', -1, 64) + " " + symbol)
}

// whole reads a whole number.
func whole(to *int, least, most int) reader {
	return valued(func(s string) error {
		value, err := strconv.Atoi(s)
		if err != nil || strings.HasPrefix(s, "+") {
			return fmt.Errorf("%q is not a whole number; allowed is %d to %d", brief(s), least, most)
		}
		if value < least || value > most {
			return fmt.Errorf("%q is out of range; allowed is %d to %d", brief(s), least, most)
		}
		*to = value
		return nil
	})
}

// text reads words of at most so many characters.
func text(to *string, most int) reader {
	return valued(func(s string) error {
		s = strings.TrimSpace(s)
		switch {
		case s == "":
			return fmt.Errorf("the text is empty")
		case utf8.RuneCountInString(s) > most:
			return fmt.Errorf("the text has %d characters; at most %d are allowed", utf8.RuneCountInString(s), most)
		case strings.ContainsFunc(s, func(c rune) bool { return unicode.IsControl(c) && c != '\n' && c != '\t' }):
			return fmt.Errorf("the text has a control character")
		}
		*to = s
		return nil
	})
}

// choice reads one of a few words.
func choice(to *string, words ...string) reader {
	return valued(func(s string) error {
		for _, word := range words {
			if s == word {
				*to = word
				return nil
			}
		}
		return fmt.Errorf("%q is not known%s allowed: %s", brief(s), endSentence(didYouMean(s, words)), strings.Join(words, ", "))
	})
}

func truth(to *bool) reader {
	return valued(func(s string) error {
		if s != "true" && s != "false" {
			return fmt.Errorf("%q is neither true nor false", brief(s))
		}
		*to = s == "true"
		return nil
	})
}

// valued makes a reader of what takes the text of a single value.
func valued(take func(string) error) reader {
	return func(r *report, n *node) {
		if !r.is(n, scalar, "a value") {
			return
		}
		if err := take(n.text); err != nil {
			r.say(n, "%s%v", prefix(n), err)
		}
	}
}

// each reads a list of at least one and at most so many items.
func each(most int, what string, read reader) reader {
	return func(r *report, n *node) {
		if !r.is(n, list, what) {
			return
		}
		if len(n.items) == 0 || len(n.items) > most {
			r.say(n, "%sthe list has %d items; allowed is 1 to %d", prefix(n), len(n.items), most)
			return
		}
		for _, item := range n.items {
			read(r, item)
		}
	}
}

// add reads an item into the end of a list.
func add[T any](to *[]T, read func(r *report, n *node, item *T)) reader {
	return func(r *report, n *node) {
		var item T
		read(r, n, &item)
		*to = append(*to, item)
	}
}
