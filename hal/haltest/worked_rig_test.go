package haltest_test

import (
	"bufio"
	"fmt"
	"net"
	"os"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/haltest"
)

// instrument is the other end of a numbered line, SIMULATED.
type instrument struct {
	mu     sync.Mutex
	conn   net.Conn
	held   map[string]string // V and A as they were sent
	on     bool
	stuck  bool
	silent bool
	next   func(number, answer string) string // strikes one answer, and is gone
	heard  []string
}

func (i *instrument) serve() {
	for lines := bufio.NewScanner(i.conn); lines.Scan(); {
		if line := i.hear(lines.Text()); line != "" {
			if _, err := fmt.Fprintln(i.conn, line); err != nil {
				return
			}
		}
	}
}

func (i *instrument) hear(line string) string {
	i.mu.Lock()
	defer i.mu.Unlock()
	number, question, _ := strings.Cut(line, " ")
	i.heard = append(i.heard, question)
	answer := i.execute(question)
	switch next := i.next; {
	case i.silent:
		return ""
	case next != nil:
		i.next = nil
		return next(number, answer)
	}
	return number + " " + answer
}

func (i *instrument) execute(question string) string {
	word, value, _ := strings.Cut(question, " ")
	switch word {
	case "V", "A":
		i.held[word] = value
	case "V?", "A?":
		return i.held[word[:1]]
	case "ON":
		i.on = true
	case "OFF":
		i.on = i.on && i.stuck
	case "ON?":
		return map[bool]string{true: "1", false: "0"}[i.on]
	case "M?":
		return "0.00 0.000"
	case "WHO?":
		return "SMALL WORKS,NUMBERED SIMULATED,7"
	}
	return "OK"
}

func (i *instrument) do(what func()) func() {
	return func() {
		i.mu.Lock()
		defer i.mu.Unlock()
		what()
	}
}

func (i *instrument) strike(next func(number, answer string) string) func() {
	return i.do(func() { i.next = next })
}

// late sends an answer behind its time.
func (i *instrument) late(number, answer string) string {
	time.AfterFunc(350*time.Millisecond, func() { _, _ = fmt.Fprintln(i.conn, number, answer) }) // nobody may be there any more
	return ""
}

func numberedRig(t *testing.T) haltest.SupplyRig {
	near, far := net.Pipe()
	i := &instrument{conn: far, held: map[string]string{"V": "12.00", "A": "1.000"}, on: true}
	go i.serve()
	t.Cleanup(func() { require.NoError(t, near.Close()); require.NoError(t, far.Close()) })
	supply, err := openNumbered(t.Context(), near, hal.Limits{HighestVolts: 60, HighestAmperes: 3, VoltStep: 0.01, AmpereStep: 0.001,
		Settle: 100 * time.Millisecond, Exchange: 300 * time.Millisecond, MainsReturn: "halted"})
	require.NoError(t, err)
	return haltest.SupplyRig{
		Supply: supply, Wait: func(d time.Duration) { <-time.After(d) },
		Output: func() (on bool) { i.do(func() { on = i.on })(); return on },
		Heard:  func() (all []string) { i.do(func() { all = append(all, i.heard...) })(); return all },
		Words:  haltest.Words{Off: "OFF", Who: []string{"WHO?"}, Refusal: "out of range"},
		Hands: map[haltest.Fault]func(){
			haltest.LateReply:  i.strike(i.late),
			haltest.LostReply:  i.strike(func(string, string) string { return "" }),
			haltest.NotANumber: i.strike(func(number, _ string) string { return number + " 9.91E37 9.91E37" }),
			haltest.Refuse:     i.strike(func(number, _ string) string { return number + " ERR out of range" }),
			haltest.ExtraReply: i.strike(func(number, answer string) string { return number + " " + answer + "\n99999 3.3" }),
			haltest.StuckOn:    i.do(func() { i.stuck = true }),
			haltest.Silence:    i.do(func() { i.silent = true }),
			haltest.Gone:       func() { require.NoError(t, far.Close()) },
		},
	}
}

// TestWorkedExample: the driver that DEVELOPERS.md shows passes the suite of its contract.
func TestWorkedExample(t *testing.T) {
	haltest.Supply(t, haltest.SupplySuite{Run: synctest.Test, Open: numberedRig})
}

// TestWorkedExampleIsQuoted: DEVELOPERS.md shows the very lines that are compiled here,
// and fewer than 200 of them.
func TestWorkedExampleIsQuoted(t *testing.T) {
	source, err := os.ReadFile("worked_test.go")
	require.NoError(t, err)
	text, err := os.ReadFile("../../DEVELOPERS.md")
	require.NoError(t, err)
	_, quoted, found := strings.Cut(string(text), "<!-- worked example: begin -->\n```go\n")
	require.True(t, found)
	quoted, _, found = strings.Cut(quoted, "```\n<!-- worked example: end -->")
	require.True(t, found)
	require.Equal(t, string(source), quoted, "copy hal/haltest/worked_test.go into DEVELOPERS.md")
	require.Less(t, strings.Count(quoted, "\n"), 200)
}

var _ hal.Supply = (*numbered)(nil)
