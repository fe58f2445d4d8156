package record

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Plain is nil for words of a person that are one line, and an error that says what is
// in them that must not be: a control character, which a terminal would obey, or one
// that turns the direction of what stands beside it.
func Plain(text string) error {
	for i, letter := range text {
		switch {
		case letter == utf8.RuneError && !strings.HasPrefix(text[i:], "\ufffd"):
			return fmt.Errorf("byte %#02x of it is not UTF-8 text: write it anew", text[i])
		case hidden(letter):
			return fmt.Errorf("character %d of it is %s: write one line of plain words", utf8.RuneCountInString(text[:i])+1, escape(letter))
		}
	}
	return nil
}

// MostName is how many characters the name of a person may have, as in the daemon's file.
const MostName = 60

// Name is nil for the name of a person: plain words, and not many.
func Name(text string) error {
	if n := utf8.RuneCountInString(text); n > MostName {
		return fmt.Errorf("a name of %d characters, at most %d are kept: write a name, and the rest as a note", n, MostName)
	}
	return Plain(text)
}

// Escaped is text as a line of a terminal, a table or a picture may show it: what
// [Plain] refuses is spelt out. Records of earlier versions have such words.
func Escaped(text string) string {
	if Plain(text) == nil {
		return text
	}
	var shown strings.Builder
	for i, letter := range text {
		switch {
		case letter == utf8.RuneError && !strings.HasPrefix(text[i:], "\ufffd"):
			fmt.Fprintf(&shown, `\x%02x`, text[i])
		case hidden(letter):
			shown.WriteString(escape(letter))
		default:
			shown.WriteRune(letter)
		}
	}
	return shown.String()
}

// hidden are controls, the breaks of lines and paragraphs, and what embeds, overrides or
// isolates a direction (Unicode Standard Annex 9, explicit formatting). What joins or
// parts letters in words of some languages is not hidden.
func hidden(letter rune) bool {
	return unicode.IsControl(letter) || unicode.In(letter, unicode.Zl, unicode.Zp) ||
		letter >= 0x202A && letter <= 0x202E || letter >= 0x2066 && letter <= 0x2069
}

// escape spells a character out, as \x1b or \u202e.
func escape(letter rune) string {
	quoted := strconv.QuoteRuneToASCII(letter)
	return quoted[1 : len(quoted)-1]
}
