package modbus

import (
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// published are the examples of the MODBUS Application Protocol Specification
// V1.1b3, chapters 6 and 7.
type published struct {
	Examples []struct {
		Function    string `json:"function"`
		Example     string `json:"example"`
		RequestPDU  string `json:"request_pdu"`
		ResponsePDU string `json:"response_pdu"`
	} `json:"examples"`
	ExceptionCodes map[string]string `json:"exception_codes"`
}

func readPublished(t *testing.T) published {
	t.Helper()
	text, err := os.ReadFile("testdata/published/modbus_v1_1b3_examples.json")
	require.NoError(t, err)
	var p published
	require.NoError(t, json.Unmarshal(text, &p))
	return p
}

func fromHex(t *testing.T, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	require.NoError(t, err)
	return b
}

// TestPublishedReadDiscreteInputs: inputs 197 to 218 (addresses 196 to 217), of
// which the specification lists 197-204 as AC, 205-212 as DB, 213-218 as 35 hex.
func TestPublishedReadDiscreteInputs(t *testing.T) {
	found := 0
	for _, example := range readPublished(t).Examples {
		if example.Function != "02" {
			continue
		}
		found++
		request := reading(readDiscreteInputs, 0xC4, 0x16)
		frame := TCP.appendFrame(nil, 1, 17, request)
		require.Equal(t, fromHex(t, "00 01 00 00 00 06 11 "+example.RequestPDU), frame)
		answer := fromHex(t, example.ResponsePDU)
		require.NoError(t, checkAnswer(request, answer))
		packed := answer[2:]
		want := "0011 0101 1101 1011 1010 1100" // 218 (as bit 21) down to 197
		for n := range 22 {
			bits := strings.ReplaceAll(want, " ", "")
			require.Equal(t, bits[len(bits)-1-n] == '1', bit(packed, n), "input %d", 197+n)
		}
	}
	require.Equal(t, 1, found)
}

// TestPublishedExceptions: every code of the specification has its name.
func TestPublishedExceptions(t *testing.T) {
	codes := readPublished(t).ExceptionCodes
	require.Len(t, exceptions, len(codes))
	for code, name := range codes {
		require.Contains(t, Exception(fromHex(t, code)[0]).Error(), name)
	}
}

// scripted is a transport that takes what is written and has its answers ready.
type scripted struct {
	answer []byte
	heard  bytes.Buffer
}

func (s *scripted) Write(p []byte) (int, error) { return s.heard.Write(p) }
func (s *scripted) SetDeadline(time.Time) error { return nil }
func (s *scripted) Read(p []byte) (int, error) {
	if len(s.answer) == 0 {
		return 0, io.EOF
	}
	n := copy(p, s.answer)
	s.answer = s.answer[n:]
	return n, nil
}

// TestPublishedExceptionFrame: the exception frame of libmodbus for an address that
// it does not have, with function 02 in place of 03.
func TestPublishedExceptionFrame(t *testing.T) {
	wire := &scripted{answer: fromHex(t, "00 01 00 00 00 03 01 82 02")}
	lid, err := New(Options{Dial: func(context.Context) (Transport, error) { return wire, nil }, Unit: 1, Inputs: [2]int{0, 1}})
	require.NoError(t, err)
	_, err = lid.Channels(t.Context())
	require.ErrorContains(t, err, "exception 02, illegal data address")
	require.Equal(t, fromHex(t, "00 01 00 00 00 06 01 02 00 00 00 02"), wire.heard.Bytes())
}
