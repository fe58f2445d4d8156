//go:build unix

package campaign

import (
	"syscall"
	"time"
)

// cpuSeconds is the processor time of this process; 0 where the system does not tell.
func cpuSeconds() float64 {
	var usage syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &usage); err != nil {
		return 0
	}
	return (time.Duration(usage.Utime.Nano()) + time.Duration(usage.Stime.Nano())).Seconds()
}
