package hal

import "errors"

// The sentinels that drivers wrap. The Station decides from these and nothing else.
var (
	ErrTimeout   = errors.New("no answer in time")
	ErrDesync    = errors.New("the link is out of step and could not be resynchronised")
	ErrGone      = errors.New("the device is gone")
	ErrRange     = errors.New("value outside the limits, nothing was sent")
	ErrRefused   = errors.New("the instrument refused")
	ErrMismatch  = errors.New("read-back differs from what was asked")
	ErrStray     = errors.New("what is held right after a setting lies beyond the old value and the new one")
	ErrNoReading = errors.New("no reading")
	ErrTripped   = errors.New("the instrument has tripped")
	ErrLocal     = errors.New("the instrument is under panel control")
	ErrRelinked  = errors.New("the link was lost and made anew, and the output was switched off")
)
