// Package campaign runs seeded loads by the thousand: a plan, the Station with its
// process and watch, and a virtual bench whose constants are not the controller's.
// What happened is judged from the plant, not from the controller's own words.
//
// A case is drawn from one seed and gives the same run every time. Times are
// simulated; nothing sleeps.
package campaign
