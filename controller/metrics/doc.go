// Package metrics shows a station to Prometheus. A scrape reads the last snapshot
// and the counts of results, and never touches hardware: it cannot delay a tick.
//
// Metrics have the prefix anodized_ and base units: volts, amperes, coulombs,
// metres, square metres, amperes per square metre, ohms, seconds, and degrees
// Celsius. A value that is not known is left out: there is no metric that is not a
// number. Counts are since the program began.
package metrics
