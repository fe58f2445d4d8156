package campaign_test

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// queued is how long each thread of this process has waited for a processor, as Linux
// counts it (Documentation/scheduler/sched-stats.rst, the second figure of schedstat);
// empty elsewhere. A bare timer does not show that: another thread may have run it.
func queued() map[string]time.Duration {
	all := map[string]time.Duration{}
	files, err := filepath.Glob("/proc/self/task/*/schedstat")
	if err != nil {
		return all
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		fields := strings.Fields(string(text))
		if err != nil || len(fields) < 2 {
			continue // the thread has ended
		}
		if waited, err := strconv.ParseInt(fields[1], 10, 64); err == nil {
			all[file] = time.Duration(waited)
		}
	}
	return all
}

// longestQueue is the longest that any one thread has waited since then.
func longestQueue(before map[string]time.Duration) (longest time.Duration) {
	for thread, waited := range queued() {
		longest = max(longest, waited-before[thread])
	}
	return longest
}
