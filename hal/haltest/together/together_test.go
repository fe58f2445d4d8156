package together

import (
	"flag"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSoManyAtOnceUnlessSomebodyAsks(t *testing.T) {
	for _, c := range []struct {
		line []string
		want string
	}{{nil, atOnce}, {[]string{"-test.parallel=3"}, "3"}, {[]string{"-test.parallel=2"}, "2"}} {
		flags := flag.NewFlagSet("", flag.ContinueOnError)
		flags.Int("test.parallel", 2, "as many as processors")
		require.NoError(t, flags.Parse(c.line))
		require.NoError(t, allow(flags))
		assert.Equal(t, c.want, flags.Lookup("test.parallel").Value.String())
	}
	assert.Error(t, allow(flag.NewFlagSet("", flag.ContinueOnError)), "no flag of that name")
}
