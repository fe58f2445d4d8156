package gpio

import "time"

// span is one opening of a contact by the kernel's times: from the first edge that opened it
// to the last that closed it, with what bounced between. Its zero value has seen none.
type span struct {
	began      bool
	from, last time.Duration
	active     bool // it was closed by the last edge
}

// move takes an edge. One that opens the contact after it stood closed begins anew.
func (s *span) move(edge Edge) {
	stood := s.active && edge.At-s.last >= closesAfter
	if !edge.Active && (!s.began || stood) {
		s.began, s.from = true, edge.At
	}
	s.active, s.last = edge.Active, edge.At
}

// open is how long it lasted; 0 where its beginning was not seen, or not its end.
func (s *span) open() time.Duration {
	if !s.began || !s.active {
		return 0
	}
	return s.last - s.from
}
