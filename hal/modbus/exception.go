package modbus

import (
	"fmt"

	"anodized/hal"
)

// Exception is the code with which a device refuses a request.
type Exception byte

// Error names the exception.
func (e Exception) Error() string {
	name, ok := exceptions[byte(e)]
	if !ok {
		name = "unknown"
	}
	return fmt.Sprintf("exception %02X, %s", byte(e), name)
}

// Is tells which sentinel of hal an exception stands for: a gateway whose target
// stays silent is a time-out, everything else a refusal.
func (e Exception) Is(target error) bool { return e.is(target) }

func (e Exception) is(target error) bool {
	if e == 0x0B {
		return target == hal.ErrTimeout
	}
	return target == hal.ErrRefused
}

// waits tells whether the device asks to be asked again later.
func (e Exception) waits() bool { return e == 0x05 || e == 0x06 }
