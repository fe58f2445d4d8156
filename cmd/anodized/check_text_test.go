package main

import (
	"encoding/binary"
	"os"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// goodBench is the text of the plainest bench file.
func goodBench(t *testing.T) string {
	t.Helper()
	content, err := os.ReadFile("../../testdata/good/bench.yaml")
	require.NoError(t, err)
	return string(content)
}

// utf16Text is a text as some editors save it.
func utf16Text(text string) string {
	out, err := binary.Append([]byte{0xFF, 0xFE}, binary.LittleEndian, utf16.Encode([]rune(text)))
	if err != nil {
		return ""
	}
	return string(out)
}

func TestCheckFindsWhatIsWrongWithTheText(t *testing.T) {
	t.Parallel()
	good := goodBench(t)
	for name, one := range map[string]struct {
		text   string
		line   int
		saying string
	}{
		"nothing":                        {"", 1, "the file is empty"},
		"white":                          {" \n\n  \n", 1, "the file is empty"},
		"only a mark":                    {"\ufeff", 1, "the file is empty"},
		"a start of a document":          {"---\n", 1, ""},
		"an end of a document":           {"...\n", 1, ""},
		"two documents":                  {good + "---\n" + good, 19, "a second document begins here"},
		"an empty second document":       {good + "---\n", 19, "a second document begins here"},
		"a directive":                    {"%YAML 1.2\n---\n" + good, 1, "directives"},
		"an anchor":                      {strings.Replace(good, "interlock:", "interlock: &lid", 1), 12, "anchors and aliases"},
		"an alias":                       {strings.Replace(good, "[0, 1]", "*lid", 1), 16, "anchors and aliases"},
		"a merged map":                   {strings.Replace(good, "  unit: 1\n", "  <<: {unit: 1}\n", 1), 15, "anchors and aliases"},
		"a tag":                          {strings.Replace(good, "unit: 1", "unit: !!int 1", 1), 15, "tags"},
		"a tag of a program":             {strings.Replace(good, "unit: 1", "unit: !!python/object:os.system 1", 1), 15, "tags"},
		"a question mark key":            {strings.Replace(good, "  unit: 1", "  ? unit\n  : 1", 1), 15, "?"},
		"a tab":                          {strings.Replace(good, "  unit: 1", "\tunit: 1", 1), 15, "a tab indents this line"},
		"a tab behind a space":           {strings.Replace(good, "  unit: 1", " \tunit: 1", 1), 15, "a tab indents this line"},
		"NUL":                            {strings.Replace(good, "unit: 1", "unit: 1\x00", 1), 15, "control character"},
		"NUL at the end":                 {good + "\x00", 19, "control character"},
		"escape":                         {strings.Replace(good, "unit: 1", "unit: \x1b[31m1", 1), 15, "control character"},
		"a lone carriage return":         {strings.Replace(good, "unit: 1", "unit:\r 1", 1), 15, "control character"},
		"old Macintosh lines":            {strings.ReplaceAll(good, "\n", "\r"), 1, "control character"},
		"UTF-16":                         {utf16Text(good), 1, "not UTF-8"},
		"Latin-1":                        {strings.Replace(good, "station", "fr\xe4gt", 1), 4, "not UTF-8"},
		"half a character":               {strings.Replace(good, "station", "\xe2\x82", 1), 4, "not UTF-8"},
		"a second mark":                  {"\ufeff\ufeff" + good, 1, ""},
		"a space of no width":            {strings.Replace(good, "interlock", "inter\u200block", 1), 12, "unknown key"},
		"a space that does not break":    {strings.Replace(good, "  unit: 1", "\u00a0\u00a0unit: 1", 1), 15, "only looks like a space"},
		"a Cyrillic letter":              {strings.Replace(good, "supply:", "supp\u0406y:", 1), 1, "unknown key"},
		"ten megabytes":                  {good + strings.Repeat("# nothing\n", 1<<20), 1, ""},
		"a hundred kilobytes":            {good + strings.Repeat("# nothing\n", 10000), 1, "at most"},
		"five thousand lines":            {good + strings.Repeat("#\n", 5000), 4001, "at most 4000"},
		"a line without an end":          {good + "#" + strings.Repeat("x", 2000) + "\n", 19, "characters; at most 1000"},
		"a tower of brackets":            {good + "x: " + strings.Repeat("[", 900) + "\n", 19, ""},
		"a tower of braces":              {good + "x: " + strings.Repeat("{a: ", 200) + "\n", 19, ""},
		"a tower of dashes":              {good + "x:\n  " + strings.Repeat("- ", 400) + "x\n", 19, ""},
		"an open bracket":                {strings.Replace(good, "[0, 1]", "[0, 1", 1), 17, ""},
		"an open quote":                  {strings.Replace(good, "scpi", "\"scpi", 1), 2, ""},
		"a wrong indentation":            {strings.Replace(good, "  unit: 1", "     unit: 1", 1), 15, ""},
		"an indentation that falls back": {strings.Replace(good, "  unit: 1", " unit: 1", 1), 15, ""},
		"a key without a space":          {strings.Replace(good, "unit: 1", "unit:1", 1), 15, ""},
		"a list at the top":              {"- supply\n- interlock\n", 1, "no file of ours"},
		"a number at the top":            {"42\n", 1, "no file of ours"},
		"JSON that is cut":               {`{"supply": {"driver": "scpi"`, 1, ""},
		"two supplies":                   {good + good, 19, "stands twice"},
		"a picture":                      {"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", 1, ""},
	} {
		t.Run(name, func(t *testing.T) {
			status, stdout, _ := checking(one.text, "-")
			assert.Equal(t, statusBadInput, status)
			saysAt(t, stdout, one.line, one.saying)
		})
	}
}

// What editors of other systems do to a file is no mistake.
func TestCheckTakesOtherLineEndsAndAMark(t *testing.T) {
	good := goodBench(t)
	for name, text := range map[string]string{
		"Windows lines": strings.ReplaceAll(good, "\n", "\r\n"), "a mark": "\ufeff" + good,
		"no last line end": strings.TrimSuffix(good, "\n"), "one document": "---\n" + good, "tabs behind values": strings.ReplaceAll(good, " #", "\t#"),
	} {
		status, stdout, _ := checking(text, "-")
		assert.Equal(t, statusDone, status, "%s: %s", name, stdout)
	}
}
