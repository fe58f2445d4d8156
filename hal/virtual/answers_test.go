package virtual

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestCountedAnswers: a fault that was told how many answers it spoils leaves the one
// after them alone, however long nobody asked.
func TestCountedAnswers(t *testing.T) {
	answer, end := []byte("12.5"), []byte("\n")
	for _, id := range spoilers() {
		b, err := New(Setup{Parts: spacers()})
		require.NoError(t, err)
		require.NoError(t, b.Inject(Fault{ID: id, Answers: 2}))
		spoilt, now := 0, time.Duration(0)
		for range 5 {
			now += time.Minute
			b.Exchange(now, func() {
				w := b.Wire()
				if w.Silent || w.Late > 0 || w.Spoils() {
					spoilt++
				}
				if got := b.Deliver(answer, end); !w.Spoils() {
					require.Equal(t, "12.5\n", string(got), id)
				}
			})
		}
		require.Equal(t, 2, spoilt, id)
	}
}

// TestCountedAnswersInMemory: the same of a supply that has no line.
func TestCountedAnswersInMemory(t *testing.T) {
	for _, id := range spoilers() {
		b, err := New(Setup{Parts: spacers()})
		require.NoError(t, err)
		require.NoError(t, b.Inject(Fault{ID: id, Answers: 1}))
		_, err = b.Supply().Measure(t.Context())
		require.Error(t, err, id)
		_, err = b.Supply().Measure(t.Context())
		require.NoError(t, err, id)
	}
}

// TestOnlyAnswersAreCounted of what spoils them.
func TestOnlyAnswersAreCounted(t *testing.T) {
	b, err := New(Setup{Parts: spacers()})
	require.NoError(t, err)
	require.ErrorContains(t, b.Inject(Fault{ID: "leak", Answers: 1}), "late-reply")
	require.ErrorContains(t, b.Inject(Fault{ID: "garbage", Answers: -1}), "1 to 1000")
}
