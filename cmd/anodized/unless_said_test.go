package main

import (
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/hal"
)

func TestWhatWasSaidIsSaidOnce(t *testing.T) {
	gone := fmt.Errorf("switch the output off: %w", hal.ErrGone)
	atEnd := fmt.Errorf("switch off at the end: %w", gone)
	lock := errors.New("let the lock go: no such file")
	for name, c := range map[string]struct {
		first, more error
		want        string
	}{
		"the same":                    {gone, fmt.Errorf("switch the output off: %w", hal.ErrGone), gone.Error()},
		"the same in other words":     {atEnd, gone, atEnd.Error()},
		"the same and one more":       {atEnd, errors.Join(gone, lock), atEnd.Error() + "\n" + lock.Error()},
		"one more alone":              {atEnd, lock, atEnd.Error() + "\n" + lock.Error()},
		"a sentence of two is whole":  {gone, fmt.Errorf("both: %w and %w", gone, lock), gone.Error() + "\nboth: " + gone.Error() + " and " + lock.Error()},
		"a join within a join":        {gone, errors.Join(errors.Join(gone), lock), gone.Error() + "\n" + lock.Error()},
		"nothing was wrong before it": {nil, gone, gone.Error()},
		"nothing more":                {gone, nil, gone.Error()},
	} {
		t.Run(name, func(t *testing.T) {
			err := unlessSaid(c.first, c.more)
			assert.EqualError(t, err, c.want)
			assert.ErrorIs(t, err, hal.ErrGone)
		})
	}
	assert.NoError(t, unlessSaid(nil, nil))
}
