package main

import (
	"context"
	"sync/atomic"
	"time"

	"anodized/controller/journal"
)

// noticesEvery is how often what the page says above all is looked at anew.
const noticesEvery = 2 * time.Second

// notices are what a person must know before the next load and no reading tells: of the
// clock and of the journal. The page takes the last list and waits for no disk.
type notices struct {
	journal string // path
	builtIn int    // year
	now     func() time.Time
	low     func() bool // the board reports under-voltage
	list    atomic.Pointer[[]string]
}

func newNotices(path string, low func() bool) *notices {
	n := &notices{journal: path, builtIn: buildYear(), now: time.Now, low: low}
	n.look()
	return n
}

// watch keeps the list fresh: who acknowledges a journal does it from another process.
func (n *notices) watch(ctx context.Context) { lookAgain(ctx, noticesEvery, n.look) }

func (n *notices) last() []string { return *n.list.Load() }

func (n *notices) look() {
	list := []string{}
	switch waiting, err := journal.Unacknowledged(n.journal); {
	case err != nil:
		list = append(list, "The journal cannot be looked after: "+err.Error())
	case waiting != "":
		list = append(list, "No load begins: a damaged journal was set aside: "+waiting+". Whoever knows that says so: anodized journal acknowledge --name NAME")
	}
	if n.now().Year() < n.builtIn {
		list = append(list, "The clock of this computer was not set: the dates of loads are wrong, their order is right. Set it.")
	}
	if n.low() {
		list = append(list, "This computer reports under-voltage: no load begins while it does. Check its mains adapter and cable.")
	}
	n.list.Store(&list)
}
