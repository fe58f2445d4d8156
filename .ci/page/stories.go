package main

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"syscall"

	"github.com/chromedp/chromedp"
)

// story is what happens at one bench.
type story struct {
	name    string
	watches string // the token of who looks at the page, "" where nobody is asked for one
	flags   []string
	tell    func(*bench, windows) error
}

var stories = []story{
	{"a load to its end, and one that is stopped", "", []string{"--speed", "5"}, watched},
	{"a question, and a trip", "", append([]string{"--fault", "contact-lost@40V,part=5"}, hanging...), asked},
	{"somebody who watches, and stops", watches, hanging, looked},
}

// hanging is a rack of which half hangs in the air.
var hanging = []string{"--speed", "8", "--fault", "contact-lost@start,part=1", "--fault", "contact-lost@start,part=2",
	"--fault", "contact-lost@start,part=3", "--fault", "contact-lost@start,part=4"}

type windows []*window

func tell(root context.Context, b *bench, s story, pictures string) (err error) {
	defer func() { err = errors.Join(err, b.kill()) }()
	if b.err != nil {
		return fmt.Errorf("start the daemon: %w", b.err)
	}
	var all windows
	for _, one := range screens {
		w, err := open(root, b.url, s.watches, one)
		if err != nil {
			return err
		}
		w.pictures = pictures
		all = append(all, w)
	}
	defer func() {
		for _, w := range all {
			w.close()
		}
	}()
	return s.tell(b, all)
}

// watched is a load from idle to complete, a second one stopped from the page, and the
// daemon lost, for a while and for good.
func watched(b *bench, all windows) error {
	return inOrder(
		func() error { return all.see("idle", word("Idle")) },
		b.load,
		func() error { return all.see("ramping", passed("Ramping")) },
		func() error { return all.see("alive", "window.alive") },
		func() error { return all.see("holding", passed("Holding")) },
		func() error { return all.see("complete", word("Complete")+rest) },
		func() error { return recorded(b, "complete", false) },
		b.load,
		func() error {
			return all[0].until("30 V", word("Ramping")+` && parseFloat(document.querySelector("#volts .text").textContent) > 30`)
		},
		all[0].pressStop,
		func() error { return all.see("stopped", word("Stopped")+shown("eye")) },
		func() error { return all[0].click("#good") },
		func() error {
			return all.see("by-eye", hidden("eye")+` && document.getElementById("caption").textContent.startsWith("good by eye")`)
		},
		func() error { return recorded(b, "stopped", true) },
		func() error { return all[0].light() },
		all.quiet,
		func() error { return b.daemon.Process.Signal(syscall.SIGSTOP) },
		func() error { return all.see("silent", word("No link")) },
		func() error { return b.daemon.Process.Signal(syscall.SIGCONT) },
		func() error { return all.see("", word("Stopped")) },
		b.kill,
		func() error { return all.see("no-link", word("No link")+lost) },
	)
}

// asked is a rack with parts that hang in the air, and then comes off.
func asked(b *bench, all windows) error {
	return inOrder(
		b.load,
		func() error {
			return all.see("question", word("Contact?")+shown("ask"))
		},
		func() error { return all[0].click("#goon") },
		func() error { return all.see("", passed("Ramping")+" && "+hidden("ask")) },
		func() error {
			return all.see("tripped", word("Tripped")+shown("tripped"))
		},
		func() error { return all[0].click("#acknowledge") },
		func() error {
			return all[0].until("why not yet", `document.getElementById("tripsaid").textContent.includes("lid")`)
		},
		all.quiet,
	)
}

// looked is a question to which who looks on has no key but Stop.
func looked(b *bench, all windows) error {
	return inOrder(
		b.load,
		func() error { return all.see("watching", word("Contact?")+shown("ask")+" && "+hidden("goon")+keyless) },
		all[1].pressStop,
		func() error { return all.see("", word("Stopped")) },
		all.quiet,
	)
}

// keyless: the words in place of the key say who may.
const keyless = ` && document.querySelector("#ask .watching").textContent.includes("Ida")`

func inOrder(steps ...func() error) error {
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// see waits until every window shows something, sees that it fits, and takes a picture
// of it where it has a name.
func (all windows) see(picture, holds string) error {
	failures := make([]error, len(all))
	var wait sync.WaitGroup
	for i, w := range all {
		wait.Go(func() {
			failures[i] = w.until(holds, holds)
			if failures[i] == nil && picture != "" {
				failures[i] = errors.Join(w.fits(picture), w.picture(picture))
			}
		})
	}
	wait.Wait()
	return errors.Join(failures...)
}

func (all windows) quiet() error {
	var failures []error
	for _, w := range all {
		failures = append(failures, w.quiet())
	}
	return errors.Join(failures...)
}

// word holds while the band has a word, which is for states that stay; passed once it has
// had it, since a state of the load may come and go while this machine looks elsewhere.
func word(text string) string {
	return fmt.Sprintf(`document.getElementById("word").textContent === %q`, text)
}

func passed(text string) string { return fmt.Sprintf(`window.words.includes(%q)`, text) }

func shown(id string) string  { return fmt.Sprintf(` && !document.getElementById(%q).hidden`, id) }
func hidden(id string) string { return fmt.Sprintf(`document.getElementById(%q).hidden`, id) }

// alive: volts above nothing, the film's colours in the strip and the field, ages, and
// that the bench is simulated.
const alive = `parseFloat(document.querySelector("#volts .text").textContent) > 20
	&& document.querySelectorAll("#film stop").length > 5
	&& (document.querySelector("#plot path[fill='url(#film)']")?.getAttribute("d") || "").length > 60
	&& /^#[0-9a-f]{6}$/.test(document.getElementById("nowfill").getAttribute("fill"))
	&& document.title.startsWith("SIMULATED ") && document.body.classList.contains("solid")
	&& (document.querySelector("#foot .age") || document.querySelector("#bench .age")).textContent.endsWith("s ago")`

// rest: the output is off, and the lid's permission is where the amperes were.
const rest = ` && document.body.classList.contains("hollow") && !document.getElementById("lid").hidden
	&& window.words.includes("Ramping") && window.words.includes("Holding")`

// lost: nothing that was known looks like now, and Stop is there all the same.
const lost = ` && document.body.classList.contains("nolink") && document.querySelector("#volts.stale") && !document.title.includes(" V")
	&& !document.querySelector("#stop button").disabled && document.getElementById("stopsaid").textContent.includes("E-stop")`

func recorded(b *bench, outcome string, byEye bool) error {
	is, eye, err := b.result()
	if err == nil && (is != outcome || eye != byEye) {
		err = fmt.Errorf("the record has %s, by eye %v, where %s, %v is due", is, eye, outcome, byEye)
	}
	return err
}

// light goes through the switch: day, dark, sun, and back to the system's own.
func (w *window) light() error {
	for _, name := range []string{"day", "dark", "sun", "system"} {
		if err := w.click("footer .theme"); err != nil {
			return err
		}
		if err := w.until("the light for "+name, fmt.Sprintf(`(document.documentElement.dataset.light || "system") === %q`, name)); err != nil {
			return err
		}
		if err := errors.Join(w.fits(name), w.picture("light-"+name)); err != nil {
			return err
		}
	}
	return nil
}

// pressStop presses and never lets go: Stop acts on press.
func (w *window) pressStop() error {
	x, y, err := w.middle("#stop button")
	if err != nil {
		return err
	}
	return chromedp.Do(w.ctx, chromedp.MouseEvent(chromedp.MousePressed, x, y, chromedp.ButtonLeft, chromedp.ClickCount(1)))
}

func (w *window) click(selector string) error {
	x, y, err := w.middle(selector)
	if err != nil {
		return err
	}
	return chromedp.Do(w.ctx, chromedp.MouseClickXY(x, y))
}

func (w *window) middle(selector string) (x, y float64, err error) {
	at, err := chromedp.Run(w.ctx, chromedp.Evaluate[[]float64](fmt.Sprintf(
		`(() => { const r = document.querySelector(%q).getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`, selector)))
	if err != nil {
		return 0, 0, fmt.Errorf("find %s on the %s: %w", selector, w.name, err)
	}
	return at[0], at[1], nil
}
