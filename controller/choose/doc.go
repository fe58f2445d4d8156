// Package choose is what to know before a colour is settled on: where a metal gives
// it and how far the volts may be off there, what looks like it in another order, what
// becomes of it when it is tilted or stands under another lamp, where near it the volts
// matter least, and what this metal cannot give and why.
//
// Concepts: an [Eye] is a film on a metal seen in all the ways that a choice asks
// about, over a range of volts. A wanted colour is CIELAB under the illuminant and at
// the angle of the first way, or a [Word]. A [Choice] is the answer: its [Candidate]s,
// best first.
//
// Differences are CIEDE2000. Under each illuminant a colour is CIELAB against that
// illuminant's own white: an eye that has got used to the lamp. Angles are of
// incidence, in degrees from square, specular. A film is a computed one: a ladder of
// coupons decides.
package choose
