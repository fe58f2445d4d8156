// Package process is the run as a state machine: Step takes the time, the
// readings and the interlock, and returns what the bench shall do. It has no
// clock, goroutine, file or socket, so the same code runs the bench, the
// simulation, the replay and the fault campaign.
//
//	idle ──start──> checking ──> contact-check ──> ramping ──> holding ──> discharging ──> complete | time-ran-out
//	  ^               │             │           │           │             │
//	  │               └──refused    └───────────┴───────────┴── trip / stop ──> discharging ──> tripped | stopped
//	  └────────────── acknowledge (a person; the cause gone; lid opened and closed since) ───────┘
//
// A plan of several stages goes from holding back to ramping. A trip from any
// state falls through discharging. An event that is illegal in a state is itself
// a trip. Falling current alone never ends a run.
package process
