package record

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	_ "anodized/hal/haltest/draw" // the same cases on each run
)

func TestWordsThatATerminalWouldObeyAreSpeltOut(t *testing.T) {
	for text, want := range map[string]string{
		"Ida":                      "",
		"Jörg, 第二, نمی\u200cخواهم": "", // a joiner of letters is part of a word
		"red \x1b[31mIda":          `red \x1b[31mIda`,
		"\x9b31m":                  `\x9b31m`, // the byte alone is no UTF-8
		"\u009b31m":                `\u009b31m`,
		"one\ntwo\tthree\r":        `one\ntwo\tthree\r`,
		"bell\a, rubout\x7f":       `bell\a, rubout\x7f`,
		"Ida\u202exe.stop":         `Ida\u202exe.stop`,
		"a\u2028b\u2066c":          `a\u2028b\u2066c`,
		"\ufffd":                   "",
		"cut \xc3":                 `cut \xc3`,
	} {
		if want == "" {
			assert.NoError(t, Plain(text), "%q", text)
			assert.Equal(t, text, Escaped(text))
			continue
		}
		assert.Error(t, Plain(text), "%q", text)
		assert.Equal(t, want, Escaped(text))
	}
	assert.ErrorContains(t, Plain("Ida\x1b[2J"), `character 4 of it is \x1b`)
}

func TestWhatIsSpeltOutIsPlain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := string(rapid.SliceOf(rapid.Byte()).Draw(t, "text"))
		shown := Escaped(text)
		assert.NoError(t, Plain(shown))
		assert.True(t, utf8.ValidString(shown))
		assert.Equal(t, shown, Escaped(shown), "once is enough")
	})
}

// The name of a person has a bound, as the daemon's file has for those that it admits.
func TestNameHasABound(t *testing.T) {
	assert.NoError(t, Name(strings.Repeat("ß", MostName)))
	assert.ErrorContains(t, Name(strings.Repeat("ß", MostName+1)), "a name of 61 characters, at most 60 are kept: write a name, and the rest as a note")
	assert.Error(t, Name("Ida\x1b[2J"))
}
