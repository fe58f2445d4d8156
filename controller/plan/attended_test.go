package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestAttendedSaysWhy(t *testing.T) {
	for want, because := range map[string][]string{"has no contactor": nil, "nobody tried; nobody said": {"nobody tried", "nobody said"}} {
		warnings := (&draft{Request: Request{Attended: true, Because: because}}).warnOfBench()
		assert.Len(t, warnings, 1)
		assert.Equal(t, AttendedOnly, warnings[0].Code)
		assert.Contains(t, warnings[0].Message, want)
	}
}
