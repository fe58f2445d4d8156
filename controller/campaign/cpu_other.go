//go:build !unix

package campaign

// cpuSeconds is the processor time of this process; 0 where the system does not tell.
func cpuSeconds() float64 { return 0 }
