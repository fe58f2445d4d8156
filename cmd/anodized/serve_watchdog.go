package main

import (
	"context"
	"log/slog"
	"sync"
	"time"

	systemd "github.com/coreos/go-systemd/v22/daemon"
)

// serviceDog tells systemd, where that started us, that we are ready and still alive.
// It is fed by finished ticks and by nothing else: a page that still answers over a
// loop that hangs feeds nothing.
type serviceDog struct {
	notify func(state string) (bool, error)
	every  time.Duration // 0: nobody watches
	log    *slog.Logger

	mu   sync.Mutex
	last time.Time
}

func newServiceDog(getenv func(string) string, log *slog.Logger) *serviceDog {
	w := &serviceDog{log: log, notify: func(state string) (bool, error) { return systemd.SdNotify(false, state) }}
	if getenv("NOTIFY_SOCKET") == "" {
		return w
	}
	period, err := systemd.SdWatchdogEnabled(false)
	if err != nil {
		log.Error("the watchdog of systemd is not as expected: it is not fed", "error", err)
		return w
	}
	w.every = period / 4
	return w
}

// beat feeds, at most four times in the period that systemd allows.
func (w *serviceDog) beat() {
	if w.every <= 0 {
		return
	}
	w.mu.Lock()
	due := time.Since(w.last) >= w.every
	if due {
		w.last = time.Now()
	}
	w.mu.Unlock()
	if due {
		w.say(systemd.SdNotifyWatchdog)
	}
}

// ready says so once the first tick has finished.
func (w *serviceDog) ready(ctx context.Context, ticked func() bool) {
	look := time.NewTicker(firstTick)
	defer look.Stop()
	for !ticked() {
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
	}
	w.say(systemd.SdNotifyReady)
}

func (w *serviceDog) stopping() { w.say(systemd.SdNotifyStopping) }

func (w *serviceDog) say(state string) {
	if _, err := w.notify(state); err != nil {
		w.log.Warn("systemd was not told", "state", state, "error", err)
	}
}
