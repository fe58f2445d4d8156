package virtual

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFaultsAreRead(t *testing.T) {
	for text, want := range map[string]Fault{
		"contact-lost@35V":                      {ID: "contact-lost", At: AtVolts(35)},
		"contact-lost@ 35.5 V":                  {ID: "contact-lost", At: AtVolts(35.5)},
		"short-circuit@20s":                     {ID: "short-circuit", At: AfterOn(20)},
		"short-circuit@hold+10s":                {ID: "short-circuit", At: AfterHold(10)},
		"short-circuit@hold":                    {ID: "short-circuit", At: AfterHold(0)},
		"leak@0s":                               {ID: "leak", At: AfterOn(0)},
		"leak":                                  {ID: "leak"},
		"leak@start":                            {ID: "leak"},
		"interlock-open@start+250ms":            {ID: "interlock-open", At: AfterStart(0.25)},
		"leak@3s,size=500,for=2s":               {ID: "leak", At: AfterOn(3), Size: 500, For: 2 * time.Second},
		"contact-lost@3s, part=all, for=ever":   {ID: "contact-lost", At: AfterOn(3), Part: AllParts, For: Forever},
		"current-offset@3s,size=-1e-3,part=2":   {ID: "current-offset", At: AfterOn(3), Size: -1e-3, Part: 2},
		"interlock-bounce@12.5s,for=2ms,part=1": {ID: "interlock-bounce", At: AfterOn(12.5), For: 2 * time.Millisecond, Part: 1},
	} {
		got, err := ParseFault(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
		again, err := ParseFault(got.String())
		require.NoError(t, err, got.String())
		require.Equal(t, want, again, got.String())
	}
}

func TestWhatIsNoFaultNamesWhatIsAllowed(t *testing.T) {
	for text, says := range map[string]string{
		"":                        "contact-lost, ",
		"gremlin@3s":              "contact-lost, ",
		"Leak@3s":                 "leak, ",
		"leak@":                   "35V (reached)",
		"contact-lost":            "a moment is needed",
		"contact-lost,part=2":     "a moment is needed",
		"leak@3":                  "35V (reached)",
		"leak@3 minutes":          "35V (reached)",
		"leak@-3s":                "35V (reached)",
		"leak@infs":               "35V (reached)",
		"leak@NaNV":               "35V (reached)",
		"leak@hold10s":            "35V (reached)",
		"leak@hold+35V":           "35V (reached)",
		"leak@start+hold":         "35V (reached)",
		"leak@99999999s":          "35V (reached)",
		"leak@3s,":                "for=2s",
		"leak@3s,answers=1":       "late-reply",
		"garbage@3s,answers=0":    "1 to 1000",
		"leak@3s,volume=3":        "for=2s",
		"leak@3s,for=2":           "300ms",
		"leak@3s,for=0s":          "300ms",
		"leak@3s,size=NaN":        "other than 0",
		"leak@3s,size=0":          "other than 0",
		"contact-lost@3s,part=0":  "all",
		"contact-lost@3s,part=-1": "all",
	} {
		_, err := ParseFault(text)
		require.ErrorContains(t, err, says, text)
	}
}

func TestEveryKindIsDescribed(t *testing.T) {
	seen := map[string]bool{}
	for _, kind := range Kinds() {
		assert.False(t, seen[kind.ID], "%s twice", kind.ID)
		seen[kind.ID] = true
		assert.NotEmpty(t, kind.What, kind.ID)
		assert.Positive(t, kind.For, kind.ID)
		assert.Equal(t, kind.Unit != "", kind.Size != 0, kind.ID)
	}
	require.True(t, seen["contact-lost"] && seen["interlock-open"])
}

func FuzzParseFault(f *testing.F) {
	for _, seed := range []string{"contact-lost@35V", "leak@hold+10s,size=5,for=2s,part=all", "leak@start+1ms", "short-circuit", ",@,=", "leak@1e9V", "cut-reply,answers=2"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		fault, err := ParseFault(text)
		if err != nil {
			require.True(t, strings.Contains(err.Error(), "allowed") || strings.Contains(err.Error(), "needed"), err)
			return
		}
		again, err := ParseFault(fault.String())
		require.NoError(t, err, fault.String())
		require.Equal(t, fault.ID, again.ID)
		require.Equal(t, fault.At.From, again.At.From)
		require.InDelta(t, float64(fault.At.Seconds), float64(again.At.Seconds), 1e-9*(1+float64(fault.At.Seconds)))
		require.Equal(t, fault.Part, again.Part)
		require.Equal(t, fault.Size, again.Size)
		require.Equal(t, fault.Answers, again.Answers)
		_, err = New(Setup{Parts: spacers(), Chain: true, Voltmeter: true, Ventilation: true, Faults: []Fault{fault}})
		if lacks := (*Lacking)(nil); !errors.As(err, &lacks) {
			require.NoError(t, err)
		} else {
			require.Greater(t, fault.Part, channels, "only a part can be one that is not there")
		}
	})
}
