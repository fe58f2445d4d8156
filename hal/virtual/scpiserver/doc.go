// Package scpiserver is the instrument's side of SCPI for a supply with one
// output: message units and header paths, the status system of IEEE 488.2, the
// error queue, and a server for a stream of lines over TCP.
//
// Concepts. A line holds message units joined by semicolons. A unit is a header
// of nodes, each legal in its short or its long form only, a question mark for a
// query, and parameters. The path of a header carries over to the next unit of
// the line (SCPI-99 volume 1, 6.2.4). Answers come back joined by semicolons in
// one line. An unknown query is answered by silence and error -113.
//
// The package knows no bench: the power behind the commands is a [Source].
//
// Units: V, A, s, V/s.
package scpiserver
