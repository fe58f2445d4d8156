package draw

import (
	"flag"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSeedIsFixedUnlessSomebodyAsks(t *testing.T) {
	for asked, want := range map[string]string{"": seed, "0": "7", "42": "7"} {
		flags := flag.NewFlagSet("", flag.ContinueOnError)
		flags.String("rapid.seed", "7", "as the library read it")
		require.NoError(t, fix(flags, func(name string) (string, bool) {
			assert.Equal(t, "RAPID_SEED", name)
			return asked, asked != ""
		}))
		assert.Equal(t, want, flags.Lookup("rapid.seed").Value.String())
	}
	assert.Error(t, fix(flag.NewFlagSet("", flag.ContinueOnError), func(string) (string, bool) { return "", false }),
		"a library without that flag is not passed over")
}

func TestSameCasesOnEachRun(t *testing.T) {
	draws := func() (drawn []uint64) {
		rapid.Check(t, func(t *rapid.T) { drawn = append(drawn, rapid.Uint64().Draw(t, "number")) })
		return drawn
	}
	first, second := draws(), draws()
	assert.Greater(t, len(first), 10)
	if flag.Lookup("rapid.seed").Value.String() == "0" {
		assert.NotEqual(t, first, second, "somebody asked for cases drawn anew")
		return
	}
	assert.Equal(t, first, second)
}
