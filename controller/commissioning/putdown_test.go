package commissioning

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/virtual"
)

type deadContactor struct{ hal.Contactor }

func (deadContactor) Halt() error { return errors.New("the module does not answer") }

type countedSupply struct {
	hal.Supply
	halts int
}

func (c *countedSupply) Halt(ctx context.Context) error { c.halts++; return c.Supply.Halt(ctx) }

func TestADeadContactorDoesNotKeepTheSupplyOn(t *testing.T) {
	b, _ := rig(t, virtual.Setup{Chain: true})
	supply := &countedSupply{Supply: b.Supply}
	b.Supply, b.Contactor = supply, deadContactor{b.Contactor}
	_, err := b.Prove(t.Context(), Options{})
	require.Error(t, err)
	assert.Positive(t, supply.halts, "off goes out whatever becomes of the contactor")
}
