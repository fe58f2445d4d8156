package leak

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

type tests func() int

func (t tests) Run() int { return t() }

func TestWhatIsLeftBehindFails(t *testing.T) {
	end := make(chan struct{})
	status := Main(tests(func() int { return 0 }))
	assert.Zero(t, status, "nothing is left")
	assert.Equal(t, 2, Main(tests(func() int { return 2 })), "a failure stays that failure")

	go func() { <-end }()
	assert.ErrorContains(t, left(0), "TestWhatIsLeftBehindFails")
	close(end)
	assert.NoError(t, left(patience), "one that ends is waited for")
}
