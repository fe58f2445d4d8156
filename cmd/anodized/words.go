package main

import (
	"fmt"
	"slices"

	"anodized/controller/record"
)

// plainFlag refuses words in a flag that a terminal would obey where they are shown.
func plainFlag(name, words string) error {
	if err := record.Plain(words); err != nil {
		return fmt.Errorf("--%s: %w", name, err)
	}
	return nil
}

// nameFlag refuses what is no name of a person.
func nameFlag(name, words string) error {
	if err := record.Name(words); err != nil {
		return fmt.Errorf("--%s: %w", name, err)
	}
	return nil
}

// painted is text with the colours of a terminal in it: ours, and shown as it is.
type painted string

// spelt spells out what a terminal would obey in texts that come from a file, a person
// or an instrument.
func spelt(values []any) []any {
	safe := slices.Clone(values)
	for i, value := range values {
		switch one := value.(type) {
		case string:
			safe[i] = record.Escaped(one)
		case error:
			safe[i] = record.Escaped(one.Error())
		}
	}
	return safe
}

func speltAll(texts []string) []string {
	safe := make([]string, len(texts))
	for i, text := range texts {
		safe[i] = record.Escaped(text)
	}
	return safe
}
