// Package leak fails the tests of a package that leave a goroutine behind. A test that
// does is a program that does: a transport that nobody closed, a listener that nobody
// ended, an exchange that hangs for ever.
package leak

import (
	"fmt"
	"net/http"
	"os"
	"time"

	"go.uber.org/goleak"
)

// patience is how long the last ones have to end. A machine may stall for a second.
const patience = 10 * time.Second

// Tests are the tests of a package: a *testing.M, or what stands around one.
type Tests interface{ Run() int }

// Main runs the tests and returns the status for os.Exit: 1 where they passed and
// something still runs. It is for TestMain.
func Main(tests Tests) int {
	status := tests.Run()
	if status != 0 {
		return status // what a failed test left behind is no news
	}
	http.DefaultClient.CloseIdleConnections()
	if err := left(patience); err != nil {
		fmt.Fprintln(os.Stderr, "tests left goroutines behind:", err)
		return 1
	}
	return 0
}

// left is what still runs after a while; each look waits a little itself.
func left(patience time.Duration) error {
	began := time.Now()
	for {
		err := goleak.Find()
		if err == nil || time.Since(began) > patience {
			return err
		}
	}
}
