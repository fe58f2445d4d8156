// Package web is the daemon's window: the page, the API and the event stream over
// one Station. It reads the [controller.Snapshot] and the read side of the journal,
// passes on what persons want, and cannot reach a device.
//
// A load is started in two steps. A plan is made and gets a name that nobody can
// guess, holds for 120 s and is used once; a start names it. That name is the token
// of the start: who cannot read the answer to the plan cannot start it. A stop needs
// nothing at all, and is never refused to anyone who may talk to this server.
//
// Who may talk: only this machine while there are no credentials, under a name that
// is on the list (421 otherwise, against rebinding of names), and never from a page
// of another site (403). A GET changes nothing.
//
// Ages are milliseconds at the moment of the snapshot; whoever shows them adds the
// time since it arrived. Numbers that are not known are null.
package web
