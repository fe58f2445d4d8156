package modbusserver

import (
	"context"
	"encoding/binary"
	"errors"
	"io"
	"log"
	"net"
	"os"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"

	"anodized/hal/virtual/pty"
)

// shelf is a device with the registers of the published examples: 108 to 110 are 555,
// 0 and 100, input register 9 is 10 (V1.1b3, 6.3 and 6.4).
type shelf struct {
	mu      sync.Mutex
	holding map[int]uint16
	reply   func(Reply) Reply
	came    int
	went    int
}

func newShelf() *shelf {
	return &shelf{holding: map[int]uint16{1: 0, 2: 0, 107: 555, 108: 0, 109: 100}, reply: func(r Reply) Reply { return r }}
}

func (s *shelf) Holding(address int) (uint16, bool) { w, there := s.holding[address]; return w, there }
func (s *shelf) Input(address int) (uint16, bool)   { return 10, address == 8 }
func (s *shelf) Identity() [3]string                { return [3]string{"SIMULATED WORKS", "SHELF", "V2.11"} }

func (s *shelf) Write(address int, words []uint16) byte {
	for i := range words {
		if _, there := s.holding[address+i]; !there {
			return illegalAddress
		}
	}
	for i, word := range words {
		s.holding[address+i] = word
	}
	return 0
}

func (s *shelf) Connected() bool { s.mu.Lock(); defer s.mu.Unlock(); s.came++; return true }
func (s *shelf) Disconnected()   { s.mu.Lock(); defer s.mu.Unlock(); s.went++ }

func (s *shelf) Request(unit byte, pdu []byte) Reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	if unit != 1 {
		return Reply{}
	}
	return s.reply(Reply{PDU: Execute(pdu, s)})
}

func (s *shelf) set(reply func(Reply) Reply) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.reply = reply
}

func TestPublishedRegisterExamples(t *testing.T) {
	for request, want := range map[string]string{
		"03 00 6B 00 03":                "03 06 02 2B 00 00 00 64",
		"04 00 08 00 01":                "04 02 00 0A",
		"06 00 01 00 03":                "06 00 01 00 03",
		"10 00 01 00 02 04 00 0A 01 02": "10 00 01 00 02",
		"08 00 00 A5 37":                "08 00 00 A5 37",
		"01 04 A1 00 01":                "81 01",
		"03 13 88 00 01":                "83 02",
		"03 00 6B 00 00":                "83 03",
		"03 00 6B 00 7E":                "83 03",
		"03 00 6B":                      "83 03",
		"06 00 63 00 03":                "86 02",
		"06 00 01":                      "86 03",
		"10 00 02 00 02 04 00 0A 01 02": "90 02",
		"10 00 01 00 02 03 00 0A 01":    "90 03",
		"10 00 01":                      "90 03",
		"08 00 01 00 00":                "88 01",
		"08 00":                         "88 03",
		"2B 0D 01 00":                   "AB 01",
		"2B 0E 04 00":                   "AB 02",
		"2B 0E 01 00":                   "2B 0E 01 01 00 00 03 00 0F 53 49 4D 55 4C 41 54 45 44 20 57 4F 52 4B 53 01 05 53 48 45 4C 46 02 05 56 32 2E 31 31",
	} {
		require.Equal(t, unhex(t, want), Execute(unhex(t, request), newShelf()), request)
	}
}

func TestCheckSum(t *testing.T) {
	require.Equal(t, uint16(0x4B37), checkSum([]byte("123456789")))
	require.Equal(t, uint16(0x1241), checkSum(unhex(t, "02 07")), "MODBUS over Serial Line V1.02, 6.2.2")
}

func serveShelf(t *testing.T) (s *shelf, tcp, rtu string) {
	s = newShelf()
	line, err := pty.Open()
	require.NoError(t, err)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 2)
	go func() { done <- ServeLine(ctx, line, s) }()
	go func() { done <- ServeTCP(ctx, listener, s) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, errors.Join(<-done, <-done))
	})
	return s, "tcp://" + listener.Addr().String(), "rtu://" + line.Path()
}

// TestIndependentClientOfRegisters reads and writes over both framings.
func TestIndependentClientOfRegisters(t *testing.T) {
	s, tcp, rtu := serveShelf(t)
	for _, url := range []string{tcp, rtu} {
		c, err := modbus.NewClient(&modbus.ClientConfiguration{URL: url, Speed: 19200, DataBits: 8, Parity: modbus.PARITY_NONE, StopBits: 2,
			Timeout: patience, Logger: log.New(io.Discard, "", 0)})
		require.NoError(t, err)
		require.NoError(t, c.Open(), url)
		require.NoError(t, c.SetUnitId(1))
		words, err := c.ReadRegisters(107, 3, modbus.HOLDING_REGISTER)
		require.NoError(t, err, url)
		require.Equal(t, []uint16{555, 0, 100}, words)
		require.NoError(t, c.WriteRegisters(1, []uint16{10, 0x0102}))
		word, err := c.ReadRegister(2, modbus.HOLDING_REGISTER)
		require.NoError(t, err)
		require.Equal(t, uint16(0x0102), word)
		_, err = c.ReadRegister(5000, modbus.HOLDING_REGISTER)
		require.ErrorIs(t, err, modbus.ErrIllegalDataAddress)
		s.set(func(r Reply) Reply { r.Spoil = func(b []byte) []byte { b[len(b)-1] ^= 1; return b }; return r })
		_, err = c.ReadRegister(2, modbus.HOLDING_REGISTER)
		if url == rtu {
			require.ErrorIs(t, err, modbus.ErrBadCRC)
		} else {
			require.NoError(t, err, "TCP has no check sum")
		}
		s.set(func(r Reply) Reply { return r })
		require.NoError(t, c.Close())
	}
}

// TestSerialLineKeepsSilent for other units, wrong check sums, and what is no request;
// then it answers again.
func TestSerialLineKeepsSilent(t *testing.T) { synctest.Test(t, keepsSilent) }

func keepsSilent(t *testing.T) {
	s := newShelf()
	near, far := net.Pipe()
	done := make(chan error, 1)
	go func() { done <- ServeLine(t.Context(), far, s) }()
	framed := func(hex string) []byte {
		b := unhex(t, hex)
		return binary.LittleEndian.AppendUint16(b, checkSum(b))
	}
	wrong := framed("01 03 00 6B 00 03")
	wrong[7] ^= 1
	for name, request := range map[string][]byte{
		"another unit": framed("02 03 00 6B 00 03"), "check sum": wrong, "noise": []byte("\xff\xff\xff"), "half": wrong[:5],
		"longer": framed("01 10 00 01 00 02 04 00 0A 01 03 01 02 03 04"),
	} {
		_, err := near.Write(request)
		require.NoError(t, err)
		require.NoError(t, near.SetReadDeadline(time.Now().Add(silence+time.Millisecond)))
		_, err = near.Read(make([]byte, 10))
		require.ErrorIs(t, err, os.ErrDeadlineExceeded, name)
		require.NoError(t, near.SetReadDeadline(time.Now().Add(patience)))
		_, err = near.Write(framed("01 03 00 6B 00 03"))
		require.NoError(t, err)
		got := make([]byte, 11)
		_, err = io.ReadFull(near, got)
		require.NoError(t, err, name)
		require.Equal(t, framed("01 03 06 02 2B 00 00 00 64"), got)
	}
	require.NoError(t, near.Close())
	require.NoError(t, far.Close())
	require.NoError(t, <-done)
	require.Equal(t, 1, s.came)
	require.Positive(t, s.went)
}

func FuzzExecute(f *testing.F) {
	f.Add(unhex(f, "03 00 6B 00 03"))
	f.Add(unhex(f, "10 00 01 00 02 04 00 0A 01 02"))
	f.Add(unhex(f, "2B 0E 01 00"))
	f.Fuzz(func(t *testing.T, pdu []byte) {
		if len(pdu) == 0 || len(pdu) > mostPDU {
			return
		}
		answer := Execute(pdu, newShelf())
		require.NotEmpty(t, answer)
		require.LessOrEqual(t, len(answer), mostPDU)
		require.Equal(t, pdu[0], answer[0]&^failed|pdu[0]&failed)
	})
}
