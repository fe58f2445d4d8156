package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// screen is a size that the page is drawn for, by day or in the dark.
type screen struct {
	name          string
	width, height int64
	scheme        string
}

var screens = []screen{
	{"bench", 1024, 600, "light"}, {"bench-dark", 1024, 600, "dark"},
	{"phone", 360, 740, "light"}, {"phone-dark", 360, 740, "dark"}, {"desktop", 1400, 900, "light"},
}

// patience is how long anything may take, on a machine that does other things too.
const (
	patience = 90 * time.Second
	glance   = 150 * time.Millisecond
)

// window is the page on one screen.
type window struct {
	screen
	pictures   string
	ctx        context.Context
	close      context.CancelFunc
	mu         sync.Mutex
	complaints []string
}

func open(root context.Context, url, token string, s screen) (*window, error) {
	w := &window{screen: s}
	w.ctx, w.close = chromedp.NewContext(root)
	if err := w.prepare(token); err != nil {
		return nil, fmt.Errorf("open a window on the %s: %w", s.name, err)
	}
	if err := chromedp.Do(w.ctx, chromedp.Navigate(url+"/")); err != nil {
		return nil, fmt.Errorf("open the page on the %s: %w", s.name, err)
	}
	_, err := chromedp.Run(w.ctx, chromedp.Evaluate[any](remember))
	return w, err
}

// prepare gives the window its size, and listens to what the browser complains of.
func (w *window) prepare(token string) error {
	if err := chromedp.Do(w.ctx, chromedp.EmulateViewport(w.width, w.height)); err != nil {
		return err
	}
	if err := chromedp.Listen(w.ctx, w.hear); err != nil {
		return err
	}
	if _, err := chromedp.Call(w.ctx, log.Enable, cdp.Empty{}); err != nil {
		return err
	}
	if token != "" {
		head := network.SetExtraHTTPHeadersParams{Headers: network.Headers{"Authorization": "Bearer " + token}}
		if _, err := chromedp.Call(w.ctx, network.SetExtraHTTPHeaders, head); err != nil {
			return err
		}
	}
	_, err := chromedp.Call(w.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: w.scheme}}})
	return err
}

func (w *window) hear(event any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		w.complaints = append(w.complaints, e.ExceptionDetails.Text)
	case *log.EventEntryAdded:
		w.complaints = append(w.complaints, e.Entry.Text+" "+e.Entry.URL)
	}
}

// remember keeps each word that the band has had, and whether the page was ever alive,
// so that nothing is missed between two glances.
const remember = `(() => {
	const at = document.getElementById("word");
	window.words = [at.textContent];
	new MutationObserver(() => { if (window.words.at(-1) !== at.textContent) window.words.push(at.textContent); })
		.observe(at, { childList: true, characterData: true, subtree: true });
	setInterval(() => { window.alive = window.alive || !!(` + alive + `); }, 200);
})()`

// until waits for something that the page will show in its own time.
func (w *window) until(what, holds string) error {
	ctx, cancel := context.WithTimeout(w.ctx, patience)
	defer cancel()
	for {
		yes, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+holds+")"))
		if err != nil {
			return fmt.Errorf("never on the %s: %s: %w; it shows %s", w.name, what, err, w.shown())
		}
		if yes {
			return nil
		}
		select {
		case <-ctx.Done():
		case <-time.After(glance):
		}
	}
}

// shown is what a person would tell of the page.
func (w *window) shown() string {
	ctx, cancel := context.WithTimeout(w.ctx, patience)
	defer cancel()
	text, err := chromedp.Run(ctx, chromedp.Evaluate[string](`JSON.stringify([window.words, document.querySelector("main").innerText])`))
	if err != nil {
		return err.Error()
	}
	return text
}

// spilled are the parts whose text does not fit them, and a page that goes sideways.
const spilled = `[...document.querySelectorAll("#band, #word, #right, .number, #lidword, #askheading, #tripheading, .slab button, footer, #foot, .theme, #field b")]
	.filter((at) => at.offsetParent && at.scrollWidth > at.clientWidth + 1 && getComputedStyle(at).display !== "inline")
	.map((at) => at.id || at.className || at.textContent)
	.concat(document.documentElement.scrollWidth > innerWidth ? ["the page"] : []).join(", ")`

func (w *window) fits(picture string) error {
	out, err := chromedp.Run(w.ctx, chromedp.Evaluate[string](spilled))
	if err != nil {
		return err
	}
	if out != "" {
		return fmt.Errorf("%s on the %s: does not fit: %s", picture, w.name, out)
	}
	return nil
}

func (w *window) picture(name string) error {
	if w.pictures == "" {
		return nil
	}
	picture, err := chromedp.Run(w.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(w.pictures, name+"-"+w.name+".png"), picture, 0o644)
}

// quiet sees that the browser had nothing to complain about: no exception, nothing
// that the content policy refused, nothing that could not be loaded.
func (w *window) quiet() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	var failures []error
	for _, one := range w.complaints {
		failures = append(failures, fmt.Errorf("the browser on the %s: %s", w.name, one))
	}
	return errors.Join(failures...)
}
