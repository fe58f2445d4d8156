// Package proof judges what a bench shows of itself before anybody trusts it with a load:
// numbers in, verdicts out.
//
// # Concepts
//
// A proof is something that was seen to happen: a limit that was written and read back, a
// lid that opened and closed, a contactor that opened by itself when nobody pulsed it. What
// was not seen is not proven, which is another thing than wrong; both end with a report
// that is not ok.
//
// The report is what `anodized bench` prints. Every verdict carries the numbers that it
// was made from, and why it is not ok, with what to do.
//
// A permission is what a bench file allows before anything is read: the set-up questions
// that nobody answered narrow what may run unattended.
//
// Nothing here touches a device; controller/commissioning does.
package proof
