package modbusserver

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"io"
	"log"
	"net"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"
)

type inputs []bool

func (i inputs) Inputs() ([]bool, error) { return i, nil }

type broken struct{}

func (broken) Inputs() ([]bool, error) { return nil, errors.New("no module") }

func unhex(t testing.TB, text string) []byte {
	raw, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	require.NoError(t, err)
	return raw
}

// published is the table of MODBUS Application Protocol V1.1b3, 6.2: inputs 197
// to 218 of a document, 196 to 217 on the wire.
func published(t testing.TB) inputs {
	table := make(inputs, 218)
	for i := range 22 {
		table[196+i] = unhex(t, "AC DB 35")[i/8]>>(i%8)&1 == 1
	}
	return table
}

func TestPublishedFrames(t *testing.T) {
	for _, c := range []struct {
		name, request, answer string
		module                Module
	}{
		{"inputs of 6.2", "00 01 00 00 00 06 01 02 00 C4 00 16", "00 01 00 00 00 06 01 02 03 AC DB 35", published(t)},
		{"holding registers of 6.3", "00 01 00 00 00 06 01 03 00 6B 00 03", "00 01 00 00 00 03 01 83 01", published(t)},
		{"coils of 7", "00 02 00 00 00 06 01 01 04 A1 00 01", "00 02 00 00 00 03 01 81 01", published(t)},
		{"both channels closed", "12 34 00 00 00 06 01 02 00 00 00 02", "12 34 00 00 00 04 01 02 01 03", inputs{true, true}},
		{"second channel closed", "12 34 00 00 00 06 01 02 00 00 00 02", "12 34 00 00 00 04 01 02 01 02", inputs{false, true}},
		{"address past the end", "00 03 00 00 00 06 01 02 00 01 00 02", "00 03 00 00 00 03 01 82 02", inputs{true, true}},
		{"last address of all", "00 03 00 00 00 06 01 02 FF FF 00 02", "00 03 00 00 00 03 01 82 02", inputs{true, true}},
		{"no inputs", "00 03 00 00 00 06 01 02 00 00 00 00", "00 03 00 00 00 03 01 82 03", inputs{true, true}},
		{"too many inputs", "00 03 00 00 00 06 01 02 00 00 07 D1", "00 03 00 00 00 03 01 82 03", inputs{true, true}},
		{"short request", "00 03 00 00 00 04 01 02 00 00", "00 03 00 00 00 03 01 82 03", inputs{true, true}},
		{"another unit", "00 03 00 00 00 06 02 02 00 00 00 02", "00 03 00 00 00 03 02 82 0B", inputs{true, true}},
		{"broken module", "00 03 00 00 00 06 01 02 00 00 00 02", "00 03 00 00 00 03 01 82 04", broken{}},
	} {
		q, err := readRequest(bytes.NewReader(unhex(t, c.request)))
		require.NoError(t, err, c.name)
		require.Equal(t, unhex(t, c.answer), q.frame(one{1, c.module, nil}.Request(q.unit, q.pdu).PDU), c.name)
	}
}

func TestWhatIsNoFrame(t *testing.T) {
	for name, raw := range map[string]string{
		"protocol": "00 01 00 01 00 06 01 02 00 00 00 02", "empty": "00 01 00 00 00 01 01",
		"too long": "00 01 00 00 00 FF 01 02", "cut": "00 01 00 00 00 06 01 02 00",
	} {
		_, err := readRequest(bytes.NewReader(unhex(t, raw)))
		require.Error(t, err, name)
	}
}

// patience is longer than a loaded machine stalls.
const patience = 30 * time.Second

func serve(t *testing.T, module Module, reachable func() bool) string {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- Serve(ctx, listener, 1, module, reachable) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-done)
	})
	return listener.Addr().String()
}

func client(t *testing.T, address string) *modbus.ModbusClient {
	c, err := modbus.NewClient(&modbus.ClientConfiguration{URL: "tcp://" + address, Timeout: patience,
		Logger: log.New(io.Discard, "", 0)})
	require.NoError(t, err)
	require.NoError(t, c.Open())
	t.Cleanup(func() { _ = c.Close() })
	return c
}

// An independent client reads what the module has, and is told what it may not.
func TestIndependentClient(t *testing.T) {
	table := published(t)
	c := client(t, serve(t, table, nil))
	got, err := c.ReadDiscreteInputs(196, 22)
	require.NoError(t, err)
	require.Equal(t, []bool(table[196:]), got)
	_, err = c.ReadDiscreteInputs(218, 1)
	require.ErrorIs(t, err, modbus.ErrIllegalDataAddress)
	_, err = c.ReadCoils(0, 1)
	require.ErrorIs(t, err, modbus.ErrIllegalFunction)
	require.ErrorIs(t, c.WriteRegister(0, 1), modbus.ErrIllegalFunction)
	c.SetUnitId(7)
	_, err = c.ReadDiscreteInputs(0, 2)
	require.ErrorIs(t, err, modbus.ErrGWTargetFailedToRespond)
}

func TestUnreachableModuleHangsUp(t *testing.T) {
	var there atomic.Bool
	there.Store(true)
	address := serve(t, inputs{true, true}, there.Load)
	c := client(t, address)
	_, err := c.ReadDiscreteInputs(0, 2)
	require.NoError(t, err)
	there.Store(false)
	_, err = c.ReadDiscreteInputs(0, 2)
	require.Error(t, err)
}

func FuzzAnswer(f *testing.F) {
	for _, seed := range []string{"00 01 00 00 00 06 01 02 00 C4 00 16", "00 01 00 00 00 02 01 02", "00 01 00 00 00 FE 01"} {
		f.Add(unhex(f, seed))
	}
	table := published(f)
	f.Fuzz(func(t *testing.T, raw []byte) {
		q, err := readRequest(bytes.NewReader(raw))
		if err != nil {
			return
		}
		got := q.frame(one{1, table, nil}.Request(q.unit, q.pdu).PDU)
		require.Equal(t, raw[:4], got[:4])
		require.Len(t, got, 6+int(got[4])<<8+int(got[5]))
	})
}
