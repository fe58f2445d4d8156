package controller

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
	"anodized/hal"
)

// A driver calls what it cannot read no reading, whether an instrument said that it has
// none or a line spoilt it, and may have lost its step. So nothing more is said in that
// tick, what the supply holds counts as unknown, and it is set again: a driver that found
// its step again does not switch on before that.
func TestAfterNoReadingBothSetpointsAreSetAgain(t *testing.T) {
	s := newStand(3, Options{})
	s.core.decide = func(*process.Input) process.Command {
		s.wire.change(func() {
			delete(s.wire.fail, "measure")
			if len(s.core.inputs) == 1 {
				s.wire.fail["measure"] = hal.ErrNoReading // in the tick to come
			}
		})
		return on(process.Holding, 5, 1)
	}
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Equal(t, []string{"off", "curr 1.00", "volt 5.00", "on", "curr 1.00", "volt 5.00", "off"}, only(s.wire.lines()))
	assert.Empty(t, s.core.inputs[2].Link, "it is no trip by itself")
}
