package unit

import "strings"

// Flag is a quantity as the value of a command-line flag. It satisfies the Value
// interface of the usual flag libraries without importing one. Value may hold the
// default before parsing; Given tells whether the flag was on the command line.
type Flag[T Quantity] struct {
	Value T
	Given bool
}

// Set parses what stood on the command line.
func (f *Flag[T]) Set(s string) error {
	value, err := Parse[T](s)
	if err != nil {
		return err
	}
	f.Value, f.Given = value, true
	return nil
}

// String is empty where nothing was given and there is no default.
func (f *Flag[T]) String() string {
	if f == nil || (!f.Given && f.Value == 0) {
		return ""
	}
	return Format(f.Value)
}

// Type is the word that stands for the value in a help text: "area".
func (f *Flag[T]) Type() string {
	_, noun, _ := strings.Cut(dimensionOf[T]().noun, " ")
	return strings.ReplaceAll(noun, " ", "-")
}
