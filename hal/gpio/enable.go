package gpio

// Enable is the contact that lets a supply deliver, on one output line. It is open
// from the first moment on.
type Enable struct{ lines Lines }

// EnableRequest asks for the line with the contact open. Where low closes it, the
// wiring must see to it that a board without power does not.
func EnableRequest(name string, closedLow bool) Request {
	return Request{Consumer: "anodized enable", Lines: []Line{{Name: name, Output: true, ActiveLow: closedLow}}}
}

// NewEnable returns the contact on the line of an [EnableRequest].
func NewEnable(lines Lines) *Enable { return &Enable{lines} }

// Set closes or opens the contact.
func (e *Enable) Set(closed bool) error {
	return e.lines.Set(1, bit(closed, 1))
}

// Closed asks the chip which level the line has.
func (e *Enable) Closed() (bool, error) {
	values, err := e.lines.Values()
	return values&1 != 0, err
}
