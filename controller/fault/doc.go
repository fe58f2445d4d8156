// Package fault is the one table of what can end or mark a run: the trips, which
// are fixed, latched and de-energise, and the findings, which are kept on the
// record. The same codes stand in code, journal, metrics, API and manual.
package fault
