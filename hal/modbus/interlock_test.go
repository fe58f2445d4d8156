package modbus

import (
	"context"
	"encoding/binary"
	"errors"
	"io"
	"net"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/haltest"
)

// lid is a device that serves 16 discrete inputs over connections in memory.
type lid struct {
	inputs [16]bool
	fault  func(far net.Conn, answer []byte)
	silent bool
	cut    bool
	refuse bool
	near   net.Conn
	mu     sync.Mutex
}

func newLid(t *testing.T) *lid {
	l := &lid{}
	t.Cleanup(l.hangUp)
	return l
}

// do changes the lid between two answers.
func (l *lid) do(change func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	change()
}

func (l *lid) hangUp() {
	if l.near != nil {
		_ = l.near.Close() // a pipe's Close cannot fail
	}
}

func (l *lid) dial(context.Context) (Transport, error) {
	l.hangUp()
	var cut bool
	if l.do(func() { cut = l.cut }); cut {
		return nil, errors.New("no route to it")
	}
	near, far := net.Pipe()
	l.near = near
	go l.serve(far)
	return near, nil
}

func (l *lid) serve(far net.Conn) {
	for {
		frame := make([]byte, 12)
		if _, err := io.ReadFull(far, frame); err != nil {
			return
		}
		l.do(func() { l.answer(far, frame) })
	}
}

func (l *lid) answer(far net.Conn, frame []byte) {
	first, count := int(binary.BigEndian.Uint16(frame[8:])), int(binary.BigEndian.Uint16(frame[10:]))
	answer := append([]byte{}, frame[:7]...)
	if first+count > len(l.inputs) || l.refuse {
		l.refuse = false
		answer = append(answer, 0x82, 2)
	} else {
		packed := make([]byte, (count+7)/8)
		for n := range count {
			if l.inputs[first+n] {
				packed[n/8] |= 1 << (n % 8)
			}
		}
		answer = append(append(answer, 2, byte(len(packed))), packed...)
	}
	binary.BigEndian.PutUint16(answer[4:], uint16(len(answer)-6))
	fault := l.fault
	l.fault = nil
	switch {
	case l.silent:
	case fault != nil:
		fault(far, answer)
	default:
		put(far, answer)
	}
}

// put writes in a goroutine of its own: a pipe has no buffer, a socket has.
func put(far net.Conn, b []byte) {
	go func() { _, _ = far.Write(b) }() // fails only where the driver hung up, which is its right
}

func open(t *testing.T, l *lid) *Interlock {
	t.Helper()
	interlock, err := New(Options{Dial: l.dial, Unit: 1, Inputs: [2]int{11, 2}})
	require.NoError(t, err)
	return interlock
}

func TestConformance(t *testing.T) {
	haltest.Interlock(t, haltest.InterlockSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.InterlockRig {
		l := newLid(t)
		fault := func(f func(net.Conn, []byte)) func() { return func() { l.do(func() { l.fault = f }) } }
		return haltest.InterlockRig{
			Interlock: open(t, l),
			Contacts:  func(a, b bool) { l.do(func() { l.inputs[11], l.inputs[2] = a, b }) },
			Wait:      func(d time.Duration) { <-time.After(d) },
			Hands: map[haltest.Fault]func(){
				haltest.Silence:      func() { l.do(func() { l.silent = true }) },
				haltest.Gone:         func() { l.do(func() { l.cut = true }); l.hangUp() },
				haltest.Refuse:       func() { l.do(func() { l.refuse = true }) },
				haltest.LostReply:    fault(func(net.Conn, []byte) {}),
				haltest.GarbageReply: fault(func(far net.Conn, _ []byte) { put(far, []byte("HTTP/1.0 400 Bad Request\r\n")) }),
				haltest.LateReply: fault(func(far net.Conn, answer []byte) {
					time.AfterFunc(400*time.Millisecond, func() { put(far, answer) })
				}),
			},
		}
	}})
}

// TestForeignFrames: whatever is wrong with an answer makes it an error, and the
// reading after it is right again.
func TestForeignFrames(t *testing.T) {
	change := func(at int, to byte) func([]byte) []byte {
		return func(b []byte) []byte { b[at] = to; return b }
	}
	for name, spoil := range map[string]func([]byte) []byte{
		"wrong transaction": change(1, 99),
		"wrong protocol":    change(3, 1),
		"length too long":   change(5, 200),
		"length too short":  change(5, 2),
		"wrong unit":        change(6, 2),
		"wrong function":    change(7, 1),
		"wrong byte count":  change(8, 1),
		"cut":               func(b []byte) []byte { return b[:8] },
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				l := newLid(t)
				interlock := open(t, l)
				l.do(func() {
					l.inputs[11], l.inputs[2] = true, true
					l.fault = func(far net.Conn, answer []byte) { put(far, spoil(answer)) }
				})
				channels, err := interlock.Channels(t.Context())
				require.Error(t, err)
				require.Equal(t, [2]bool{}, channels.Closed)
				channels, err = interlock.Channels(t.Context())
				require.NoError(t, err)
				require.Equal(t, [2]bool{true, true}, channels.Closed)
			})
		})
	}
}

func TestOptionsRefused(t *testing.T) {
	dial := func(context.Context) (Transport, error) { return nil, io.EOF }
	for want, o := range map[string]Options{
		"no way to connect":    {Inputs: [2]int{0, 1}},
		"unit 300":             {Dial: dial, Unit: 300, Inputs: [2]int{0, 1}},
		"two different inputs": {Dial: dial, Inputs: [2]int{4, 4}},
		"at most 1999 apart":   {Dial: dial, Inputs: [2]int{0, 2000}},
		"0 to 65535":           {Dial: dial, Inputs: [2]int{-1, 2}},
		"negative":             {Dial: dial, Inputs: [2]int{0, 1}, Timeout: -1},
	} {
		_, err := New(o)
		require.ErrorContains(t, err, want)
	}
	lid, err := New(Options{Dial: dial, Inputs: [2]int{0, 1999}})
	require.NoError(t, err)
	_, err = lid.Channels(t.Context())
	require.ErrorIs(t, err, hal.ErrGone)
}
