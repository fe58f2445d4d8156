package modbus

import "time"

const (
	// leastPatience is the shortest time that an answer gets on a serial line: far above
	// what a device and the latency of an adapter take (16 ms on common ones), and short
	// enough for a lid on the same line that must be read each half second.
	leastPatience = 150 * time.Millisecond
	// leastShare is the least share of the configured time-out that an answer gets.
	leastShare = 2
	// patienceTimes is how many times the longest answer of late is waited for.
	patienceTimes = 4
	// forgetting is how many answers it takes to forget most of a long one.
	forgetting = 64
)

// question is a function and an address: what takes one time to answer.
type question [3]byte

func questionOf(request []byte) (q question) {
	copy(q[:], request)
	return q
}

// answerTime is how long one question has taken. The specification leaves the response
// time-out to the application (MODBUS over Serial Line V1.02, 2.4.1); ours follows the
// measured time within the configured one, and doubles with each answer that is missing,
// as is done for retransmissions on the Internet (RFC 6298, 5.5).
type answerTime struct {
	longest time.Duration // of late; 0: never answered
	missed  uint          // since the last answer
}

// within is how long an answer is waited for, of all the time that it may take.
func (p answerTime) within(timeout time.Duration) time.Duration {
	if p.longest == 0 {
		return timeout
	}
	wait := max(patienceTimes*p.longest, leastPatience, timeout/leastShare)
	return min(timeout, wait<<min(p.missed, 4))
}

func (p *answerTime) answered(took time.Duration) {
	p.longest = max(took, p.longest-p.longest/forgetting, 1)
	p.missed = 0
}

// answerTime is how long the answer to a request may take. Over TCP a connection is made anew
// after a time-out, so that it gets all of its time; and so does the switch of an output,
// which some devices answer only when it has switched.
func (d *device) answerTime(request []byte) time.Duration {
	if d.line.framing == TCP || questionOf(request) == d.switching {
		return d.timeout
	}
	return d.took[questionOf(request)].within(d.timeout)
}

// learn keeps how long a question took; ever: it was answered.
func (d *device) learn(request []byte, took time.Duration, ever bool) {
	if d.line.framing == TCP {
		return
	}
	if d.took == nil {
		d.took = map[question]answerTime{}
	}
	p := d.took[questionOf(request)]
	if p.missed++; ever {
		p.answered(took)
	}
	d.took[questionOf(request)] = p
}
