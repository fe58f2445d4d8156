package modbus

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// bytesOf is a source that has all that will come.
type bytesOf []byte

func (b bytesOf) peek(n int) ([]byte, error) {
	if n > len(b) {
		return nil, io.ErrUnexpectedEOF
	}
	return b[:n], nil
}

// TestPublishedCheckSums: the worked example of MODBUS over Serial Line V1.02, 6.2.2
// (02 07 gives 41 12 on the wire), and the frames of three public libraries.
func TestPublishedCheckSums(t *testing.T) {
	text, err := os.ReadFile("testdata/published/modbus_frames_crc_lrc_tcp.json")
	require.NoError(t, err)
	var published struct {
		RTU []struct {
			Bytes     string `json:"bytes"`
			CRCOnWire string `json:"crc_on_wire"`
		} `json:"rtu"`
	}
	require.NoError(t, json.Unmarshal(text, &published))
	require.Len(t, published.RTU, 14)
	for _, c := range published.RTU {
		sum := binary.LittleEndian.AppendUint16(nil, crc(fromHex(t, c.Bytes)))
		require.Equal(t, fromHex(t, c.CRCOnWire), sum, c.Bytes)
	}
	require.Equal(t, uint16(0x4B37), crc([]byte("123456789")), "the check value of CRC-16/MODBUS")
	require.Equal(t, uint16(0xDDBA), crc([]byte{1, 2, 3, 4, 5, 6}))
}

// TestPublishedExchanges frames the examples of V1.1b3 both ways, as a general-purpose
// client was seen to send them (RTU), and as V1.0b of TCP/IP describes.
func TestPublishedExchanges(t *testing.T) {
	for _, c := range []struct{ request, rtu, answer string }{
		{"03 00 6B 00 03", "01 03 00 6B 00 03 74 17", "01 03 06 02 2B 00 00 00 64 05 7A"},
		{"04 00 08 00 01", "01 04 00 08 00 01 B0 08", "01 04 02 00 0A 39 37"},
		{"06 00 01 00 03", "01 06 00 01 00 03 98 0B", "01 06 00 01 00 03 98 0B"},
		{"10 00 01 00 02 04 00 0A 01 02", "01 10 00 01 00 02 04 00 0A 01 02 92 30", "01 10 00 01 00 02 10 08"},
		{"08 00 00 A5 37", "01 08 00 00 A5 37 DA 8D", "01 08 00 00 A5 37 DA 8D"},
		{"01 04 A1 00 01", "01 01 04 A1 00 01 AD 18", "01 81 02 C1 91"},
		{"03 13 88 00 01", "01 03 13 88 00 01 00 A4", "01 83 02 C0 F1"},
	} {
		request, answer := fromHex(t, c.request), fromHex(t, c.answer)
		require.Equal(t, fromHex(t, c.rtu), RTU.appendFrame(nil, 0, 1, request))
		tcp := TCP.appendFrame(nil, 1, 1, request)
		require.Equal(t, fromHex(t, fmt.Sprintf("00 01 00 00 00 %02X 01 ", len(request)+1)+c.request), tcp)
		pdu, length, err := RTU.answer(bytesOf(answer), 0, 1, request)
		require.Equal(t, len(answer), length, c.answer)
		require.Equal(t, answer[1:len(answer)-2], pdu)
		over, _, tcpErr := TCP.answer(bytesOf(TCP.appendFrame(nil, 1, 1, pdu)), 1, 1, request)
		require.Equal(t, pdu, over)
		require.Equal(t, err, tcpErr)
		if pdu[0]&exceptionBit != 0 {
			require.Equal(t, Exception(2), err)
		} else {
			require.NoError(t, err)
		}
	}
}

// TestWhatIsNoAnswer: one byte wrong anywhere in an RTU frame, or a frame that answers
// another request, is refused.
func TestWhatIsNoAnswer(t *testing.T) {
	request, answer := fromHex(t, "03 00 6B 00 03"), fromHex(t, "01 03 06 02 2B 00 00 00 64 05 7A")
	for at := range answer {
		for bit := range 8 {
			wrong := append([]byte(nil), answer...)
			wrong[at] ^= 1 << bit
			_, _, err := RTU.answer(bytesOf(wrong), 0, 1, request)
			require.Error(t, err, "% X", wrong)
		}
	}
	for other, frame := range map[string]string{
		"a shorter reading": "01 03 04 02 2B 00 00 2B B4",
		"input registers":   "01 04 06 02 2B 00 00 00 64 B3 BD",
		"another unit":      "02 03 06 02 2B 00 00 00 64 11 8A",
	} {
		raw := fromHex(t, frame)
		binary.LittleEndian.PutUint16(raw[len(raw)-2:], crc(raw[:len(raw)-2]))
		_, _, err := RTU.answer(bytesOf(raw), 0, 1, request)
		require.ErrorIs(t, err, errFrame, other)
	}
}

// TestFramesOfTheExampleMap: computed independently.
func TestFramesOfTheExampleMap(t *testing.T) {
	m := exampleMap()
	volts, amperes := m.SetpointVoltage, m.SetpointCurrent
	frame := func(pdu []byte) []byte { return RTU.appendFrame(nil, 0, 1, pdu) }
	alone := writes(setpoint{quantity: &volts, raw: volts.encode(95.4)})
	require.Equal(t, fromHex(t, "01 06 00 00 25 44 93 69"), frame(alone[0]))
	both := writes(setpoint{quantity: &amperes, raw: amperes.encode(5)}, setpoint{quantity: &volts, raw: volts.encode(95.4)})
	require.Len(t, both, 1, "they touch: one request")
	require.Equal(t, fromHex(t, "01 10 00 00 00 02 04 25 44 01 F4 B8 A1"), frame(both[0]))
	require.Equal(t, fromHex(t, "01 06 00 02 00 01 E9 CA"), frame(m.Output.command(1)))
	require.Equal(t, fromHex(t, "01 06 00 02 00 00 28 0A"), frame(m.Output.command(0)))
	require.Equal(t, fromHex(t, "01 03 00 00 00 03 05 CB"), frame(reading(readHolding, 0, 3)))
	require.Equal(t, fromHex(t, "01 04 01 00 00 05 31 F5"), frame(reading(readInput, 0x100, 5)))

	answer := fromHex(t, "01 04 0A 00 01 74 A6 00 00 05 FC 01 01 1C 9C")
	pdu, _, err := RTU.answer(bytesOf(answer), 0, 1, reading(readInput, 0x100, 5))
	require.NoError(t, err)
	words := registers(pdu)
	v, err := m.MeasuredVoltage.decode(words[:2])
	require.NoError(t, err)
	require.Equal(t, 95.398, v)
	a, err := m.MeasuredCurrent.decode(words[2:4])
	require.NoError(t, err)
	require.Equal(t, 0.1532, a)
	require.Equal(t, uint16(0x0101), words[4])
}

func TestCoils(t *testing.T) {
	o := Output{Table: "coil", Address: 172, Energised: 1, Halted: 0}
	require.Equal(t, fromHex(t, "05 00 AC FF 00"), o.command(1), "V1.1b3, 6.5")
	require.Equal(t, fromHex(t, "05 00 AC 00 00"), o.command(0))
	backwards := Output{Table: "coil", Address: 172, Energised: 0, Halted: 1}
	require.Equal(t, fromHex(t, "05 00 AC FF 00"), backwards.command(backwards.Halted), "a coil that is on when it is off")
}

func TestIdentities(t *testing.T) {
	id, err := parseIdentity(append(fromHex(t, "2B 0E 01 01 00 00 02 00 05"), append([]byte("WORKS"), append([]byte{2, 5}, "V2.11"...)...)...))
	require.NoError(t, err)
	require.Equal(t, "WORKS", id.Maker)
	require.Equal(t, "V2.11", id.Firmware)
	for _, bad := range []string{
		"2B 0E 01 01 00 00 01 00 0D 41", // the length that the specification's example misprints
		"2B 0E 01 01 00 00 00", "2B 0E 01 01 00 00 02 00 01 41", "2B 0E 01 01 00 00 00 41",
	} {
		_, err := parseIdentity(fromHex(t, bad))
		require.ErrorIs(t, err, errFrame, bad)
	}
	request := identityRequest
	long := append(fromHex(t, "01 2B 0E 01 01 00 00 03"), 0, 200)
	_, _, err = RTU.answer(bytesOf(append(long, make([]byte, 300)...)), 0, 1, request)
	require.Error(t, err)
}

// FuzzRTUAnswer: whatever comes, it is an error, or it has the right check sum and
// answers this request.
func FuzzRTUAnswer(f *testing.F) {
	f.Add([]byte{1, 3, 2, 0, 5, 0x78, 0x47})
	f.Add([]byte{1, 0x83, 2, 0xC0, 0xF1})
	f.Add([]byte{1, 0x2B, 0x0E, 1, 1, 0, 0, 3, 0, 22})
	f.Fuzz(func(t *testing.T, raw []byte) {
		for _, request := range [][]byte{reading(readHolding, 0, 1), identityRequest, writing(0, []uint16{1, 2})} {
			pdu, length, err := RTU.answer(bytesOf(raw), 0, 1, request)
			if err != nil {
				continue
			}
			require.Equal(t, crc(raw[:length-2]), binary.LittleEndian.Uint16(raw[length-2:]))
			require.NoError(t, checkAnswer(request, pdu))
			if request[0] == encapsulated {
				_, _ = parseIdentity(pdu) // it may name nobody, but it may not panic
			}
		}
	})
}
