package watch_test

import (
	"testing"

	"anodized/controller/fault"
	"anodized/controller/watch"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestLostPartsAreCounted: of how many parts hang, where the plan knows it.
func TestLostPartsAreCounted(t *testing.T) {
	for name, c := range map[string]struct {
		parts int
		left  float64
		says  string
	}{
		"one of eight":         {8, 0.875, `^current fell to 0\.[0-9]+ of what it should be at 70\.00 V: about 1 of 8 parts$`},
		"half of the rack":     {8, 0.5, `: about [3-5] of 8 parts$`}, // by what half a second shows
		"less than half a one": {4, 0.9, `: about 1 of 4 parts$`},
		"the whole rack":       {8, 0, `^current fell to 0\.00 of what it should be at 70\.00 V: about 8 of 8 parts$`},
		"the only part":        {1, 0.5, `of what it should be at 70\.00 V$`},
		"nobody counted them":  {0, 0.5, `of what it should be at 70\.00 V$`},
	} {
		t.Run(name, func(t *testing.T) {
			p := reference()
			p.Parts = c.parts
			w, lose := watch.New(p, bench), between(90, 150, c.left)
			for n, k := range curve(p) {
				lose(n, &k)
				if w.Update(k); w.Trip() != "" {
					break
				}
			}
			require.Equal(t, fault.ContactLost, w.Trip())
			for _, f := range w.Findings() {
				if f.Code == fault.ContactLost {
					require.Len(t, f.Evidence, 1)
					assert.Regexp(t, c.says, f.Evidence[0])
				}
			}
		})
	}
}
