package modbusserver

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
)

// shelfOfCoils has the coils of the specification's example: 20 to 38 (addresses 19 to
// 37) are CD 6B 05 (V1.1b3, 6.1).
type shelfOfCoils struct {
	on     map[int]bool
	broken bool
}

func exampleCoils() *shelfOfCoils {
	s := &shelfOfCoils{on: map[int]bool{172: false}}
	for n := range 19 {
		s.on[19+n] = []byte{0xCD, 0x6B, 0x05}[n/8]>>(n%8)&1 == 1
	}
	return s
}

func (s *shelfOfCoils) Coil(n int) (on, there bool) { on, there = s.on[n]; return on, there }

func (s *shelfOfCoils) SetCoil(n int, on bool) error {
	if s.broken {
		return errors.New("no power")
	}
	s.on[n] = on
	return nil
}

// TestPublishedCoilExamples: V1.1b3, 6.1 and 6.5.
func TestPublishedCoilExamples(t *testing.T) {
	s := exampleCoils()
	for _, c := range [][2]string{
		{"01 00 13 00 13", "01 03 CD 6B 05"},
		{"05 00 AC FF 00", "05 00 AC FF 00"},
		{"01 00 AC 00 01", "01 01 01"},
		{"05 00 AC 00 01", "85 03"},
		{"05 00 AC 00 00", "05 00 AC 00 00"},
		{"01 00 AC 00 01", "01 01 00"},
		{"05 00 01 FF 00", "85 02"},
		{"01 00 13 00 14", "81 02"},
		{"01 00 13 00 00", "81 03"},
		{"05 00 AC", "85 03"},
		{"0F 00 13 00 01", "8F 01"},
	} {
		require.Equal(t, unhex(t, c[1]), ExecuteCoils(unhex(t, c[0]), s), c[0])
	}
	s.broken = true
	require.Equal(t, unhex(t, "85 04"), ExecuteCoils(unhex(t, "05 00 AC FF 00"), s))
}
