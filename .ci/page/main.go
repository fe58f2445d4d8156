// Command page opens the page of the daemon in a headless browser and goes through
// what a person at the bench would: a load watched to its end, a load stopped from the
// page, a question, a trip, a daemon that is silent and one that is gone. It is a check
// for a machine with Chromium, in a module of its own: nothing of the program needs it.
//
//	go build -o /tmp/anodized ./cmd/anodized && cd .ci/page && go run . /tmp/anodized [FOLDER FOR PICTURES]
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/chromedp/chromedp"
)

func main() {
	if len(os.Args) < 2 {
		fmt.Fprintln(os.Stderr, "usage: page PATH-OF-ANODIZED [FOLDER FOR PICTURES]")
		os.Exit(2)
	}
	pictures := ""
	if len(os.Args) > 2 {
		pictures = os.Args[2]
	}
	if err := check(os.Args[1], pictures); err != nil {
		fmt.Fprintln(os.Stderr, "page:", err)
		os.Exit(1)
	}
}

// check tells each story on every screen.
func check(program, pictures string) (err error) {
	folder, err := os.MkdirTemp("", "anodized-page")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	root, end, err := browser(filepath.Join(folder, "browser"))
	if err != nil {
		return err
	}
	defer end()
	for _, s := range stories {
		flags := s.flags
		if s.watches != "" {
			named, err := shop(folder)
			if err != nil {
				return err
			}
			flags = append(named, flags...)
		}
		began := newBench(program, filepath.Join(folder, s.name+".db"), flags)
		if err := tell(root, began, s, pictures); err != nil {
			return fmt.Errorf("%s: %w", s.name, err)
		}
		fmt.Printf("page: %s: as it should be, on %d screens\n", s.name, len(screens))
	}
	return nil
}

// browser starts one without its own talk to the world.
func browser(profile string) (context.Context, func(), error) {
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(profile), chromedp.WSURLReadTimeout(patience),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-sync", true))
	allocator, endAllocator := chromedp.NewExecAllocator(context.Background(), options...)
	root, endRoot := chromedp.NewContext(allocator, chromedp.WithErrorf(func(string, ...any) {}))
	end := func() { endRoot(); endAllocator() }
	if err := chromedp.Do(root); err != nil {
		end()
		return nil, nil, fmt.Errorf("start the browser: %w", err)
	}
	return root, end, nil
}
