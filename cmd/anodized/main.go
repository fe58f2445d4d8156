// Command anodized is the bench controller for the anodize station of a small
// metal shop: it plans a colour, runs the load, and keeps the record.
package main

import (
	"context"
	"os"
)

func main() {
	os.Exit(run(context.Background(), osEnv(), os.Args[1:]))
}
