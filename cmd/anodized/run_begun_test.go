package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
	"anodized/hal"
	"anodized/profiles"
)

// unheard is a supply whose answer to off is not heard in time.
type unheard struct{ hal.Supply }

func (unheard) Halt(context.Context) error {
	return fmt.Errorf("switching the output off: %w", hal.ErrTimeout)
}

// TestLoadThatIsNeverBegunSaysWhy: the first thing that a station does is off; where that is
// not confirmed no load is taken, and a person is told what happened and what to do.
func TestLoadThatIsNeverBegunSaysWhy(t *testing.T) {
	t.Parallel()
	j := job{}
	var err error
	j.request, j.frozen, err = assemble(planFlags{profile: profiles.DefaultProfile, rack: profiles.DefaultRack}, nil)
	require.NoError(t, err)
	require.NoError(t, j.build())
	b, err := j.embedded()
	require.NoError(t, err)
	b.devices.Supply = unheard{b.devices.Supply}
	kept, err := journal.Open(filepath.Join(t.TempDir(), "j.db"), journal.Options{})
	require.NoError(t, err)
	var out, messages strings.Builder
	_, err = j.do(t.Context(), env{stdout: &out, stderr: &messages}, b, kept)
	require.NoError(t, kept.Close())
	require.ErrorIs(t, err, errNotBegun)
	require.ErrorIs(t, err, hal.ErrTimeout)
	assert.Equal(t, "no load was begun: switch off before anything else: switching the output off: no answer in time: "+
		"treat the output as live until a meter says otherwise; check the supply's power and cable, and what else keeps this computer busy, then start again", err.Error())

	j.flags.json = true
	j.frozen.Bench = &profiles.Bench{} // one that is reached by an address, and says that it is simulated
	b.limit(&j.request)
	out.Reset()
	assert.Equal(t, statusCannot, exitStatus(&messages, j.neverBegan(env{stdout: &out}, cannot(err))))
	assert.Contains(t, out.String(), `"outcome":"refused"`, "JSON Lines end with a result")
	assert.Contains(t, out.String(), "no answer in time")
	assert.Contains(t, out.String(), `"simulated":true`)
}

func TestWhyNoLoadWasBegun(t *testing.T) {
	t.Parallel()
	stalled := errors.New("stalled")
	for name, c := range map[string]struct {
		err, cause error
		says       string
	}{
		"nothing happened":      {nil, nil, ""},
		"the output is gone":    {errors.New("no terminal"), stalled, "no terminal\nstalled"},
		"it was ended at once":  {errNotBegun, nil, "no load was begun: the command was ended before the bench took it; start it again"},
		"the end of a load":     {nil, stalled, "stalled"},
		"it could not be begun": {errNotBegun, stalled, "no load was begun: stalled: treat the output as live"},
	} {
		t.Run(name, func(t *testing.T) {
			err := notBegun(c.err, c.cause)
			if c.says == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, c.says)
		})
	}
}
