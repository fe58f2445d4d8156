package scpi

import (
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// TestPublishedErrorNumbers: the error numbers and texts of SCPI-99 as listed by a
// public SCPI parser library. Each is read back with its class, with its text where
// the instrument leaves it out, and with the detail that may follow it.
func TestPublishedErrorNumbers(t *testing.T) {
	file, err := os.Open("testdata/published/scpi99_error_numbers.csv")
	require.NoError(t, err)
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	require.NoError(t, file.Close())
	require.Len(t, rows, 122)
	for _, row := range rows[1:] {
		number, err := strconv.Atoi(row[0])
		require.NoError(t, err)
		for _, answer := range []string{row[0], fmt.Sprintf("%s,%q", row[0], row[1]), row[0] + "," + row[1]} {
			got, err := ParseInstrumentError([]byte(answer))
			require.NoError(t, err, answer)
			assert.Equal(t, InstrumentError{Number: number, Text: row[1]}, got, answer)
		}
		got, err := ParseInstrumentError(fmt.Appendf(nil, `%d,"%s;VLOT 5, ""x"";"`, number, row[1]))
		require.NoError(t, err)
		assert.Equal(t, InstrumentError{number, row[1], `VLOT 5, "x"`}, got)
		assert.NotEqual(t, "unknown", got.Class())
	}
}

func TestErrorClasses(t *testing.T) {
	for number, class := range map[int]string{0: "none", -113: "command", -222: "execution", -310: "device", 7: "device", -410: "query", -500: "event", -5: "unknown"} {
		assert.Equal(t, class, InstrumentError{Number: number}.Class(), number)
	}
	assert.ErrorIs(t, InstrumentError{Number: -201}, hal.ErrLocal)
	assert.ErrorIs(t, InstrumentError{Number: -201}, hal.ErrRefused)
	assert.NotErrorIs(t, InstrumentError{Number: -222}, hal.ErrLocal)
	assert.Equal(t, "an error of the instrument's own", StandardText(42))
	for _, bad := range []string{"", "No error", `"x",0`, "1.5,x", "-99999", "9.91E37"} {
		_, err := ParseInstrumentError([]byte(bad))
		assert.ErrorIs(t, err, errGarbled, bad)
	}
}

func TestIdentity(t *testing.T) {
	for line, want := range map[string]hal.Identity{
		"MA,IN,0,VER":              {Maker: "MA", Model: "IN", Serial: "0", Firmware: "VER"},
		" A WORKS , X-1 ,0042, 1 ": {Maker: "A WORKS", Model: "X-1", Serial: "0042", Firmware: "1"},
		"A;B,X,7,1.0,rev 2":        {Maker: "A;B", Model: "X", Serial: "7", Firmware: "1.0,rev 2"},
		"A,X,7":                    {Maker: "A", Model: "X", Serial: "7"},
		"O'Brien,X,7,1":            {Maker: "O'Brien", Model: "X", Serial: "7", Firmware: "1"},
	} {
		got, err := ParseIdentity([]byte(line))
		require.NoError(t, err, line)
		assert.Equal(t, want, got, line)
	}
	for _, bad := range []string{"", "12.5", "1;2;3", `0,"No error"`} {
		_, err := ParseIdentity([]byte(bad))
		assert.ErrorIs(t, err, errGarbled, bad)
	}
}

func TestFieldsAreSplitOutsideQuotes(t *testing.T) {
	for line, want := range map[string][]string{
		"10;20":                           {"10", "20"},
		`-113,"Undefined header;ABCD;";5`: {`-113,"Undefined header;ABCD;"`, "5"},
		`"a "";"" b";1`:                   {`"a "";"" b"`, "1"},
		"":                                {""},
		";":                               {"", ""},
		`"open;1`:                         {`"open;1`},
		"1999.0;0,\"No error\"":           {"1999.0", `0,"No error"`},
	} {
		var got []string
		for _, field := range splitFields(nil, []byte(line)) {
			got = append(got, string(field))
		}
		assert.Equal(t, want, got, line)
	}
}

// TestModes: the three layouts of the regulation bits in the field.
func TestModes(t *testing.T) {
	for _, c := range []struct {
		layout                  string
		questionable, operation int
		want                    hal.Mode
		trip                    string
	}{
		{"questionable", 0, 0, hal.ModeOff, ""},
		{"questionable", 1, 0, hal.ModeConstantCurrent, ""},
		{"questionable", 2, 0, hal.ModeConstantVoltage, ""},
		{"questionable", 3, 0, hal.ModeUnregulated, ""},
		{"questionable", 1 << 9, 0, hal.ModeOff, "over-voltage"},
		{"questionable", 1<<10 | 1<<4, 0, hal.ModeOff, "over-temperature, over-current"},
		{"operation", 0, 1 << 8, hal.ModeConstantVoltage, ""},
		{"operation", 0, 1 << 10, hal.ModeConstantCurrent, ""},
		{"operation", 1 << 10, 1 << 8, hal.ModeUnregulated, ""},
		{"operation", 1, 0, hal.ModeOff, "over-voltage"},
		{"operation", 2, 0, hal.ModeOff, "over-current"},
		{"summary", 0, 0, hal.ModeUnknown, ""},
		{"summary", 1 << 12, 0, hal.ModeUnregulated, ""},
		{"summary", 1 << 11, 0, hal.ModeUnknown, "mains fail"},
		{"none", 0, 0, hal.ModeUnknown, ""},
	} {
		s := &Supply{dialogue: dialogue{dialect: Dialect{Status: c.layout}}, answers: answers{questionable: c.questionable, operation: c.operation}}
		assert.Equal(t, c.want, s.mode(), c)
		assert.Equal(t, c.trip, s.trip(), c)
	}
}

func FuzzParseInstrumentError(f *testing.F) {
	for _, seed := range []string{`-113,"Undefined header"`, `+0,"No error"`, `1,"a "" b;c"`, `0`, `-350,"Queue overflow`, ``} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, answer []byte) {
		entry, err := ParseInstrumentError(answer)
		if err != nil {
			require.ErrorIs(t, err, errGarbled)
			return
		}
		require.Contains(t, entry.Error(), strconv.Itoa(entry.Number))
		require.ErrorIs(t, entry, hal.ErrRefused)
	})
}

func FuzzParseIdentity(f *testing.F) {
	f.Add([]byte("MA,IN,0,VER"))
	f.Add([]byte("A;B,\"X,7"))
	f.Fuzz(func(t *testing.T, line []byte) {
		identity, err := ParseIdentity(line)
		if err != nil {
			require.Equal(t, hal.Identity{}, identity)
			return
		}
		require.GreaterOrEqual(t, strings.Count(string(line), ","), 2)
	})
}

func FuzzSplitFields(f *testing.F) {
	f.Add([]byte(`1;"a;b";2`))
	f.Fuzz(func(t *testing.T, line []byte) {
		fields := splitFields(nil, line)
		var joined []byte
		for i, field := range fields {
			if i > 0 {
				joined = append(joined, ';')
			}
			joined = append(joined, field...)
		}
		require.Equal(t, string(line), string(joined), "nothing is lost or added")
	})
}
