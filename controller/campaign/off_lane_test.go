package campaign_test

import (
	"bytes"
	"context"
	"net"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"anodized/hal"
	"anodized/hal/virtual/modbusserver"
)

// tap is a piece of wire before a supply on TCP: it notes when the command for off comes
// by, and can keep the answers back.
type tap struct {
	listener net.Listener
	to       string
	mute     atomic.Bool
	armed    atomic.Bool
	off      chan time.Time
}

func newTap(to string) (*tap, error) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	return &tap{listener: listener, to: strings.TrimPrefix(to, "tcp://"), off: make(chan time.Time, 1)}, err
}

func (t *tap) address() string { return "tcp://" + t.listener.Addr().String() }

// serve carries bytes until the listener is closed.
func (t *tap) serve() {
	var lines sync.WaitGroup
	defer lines.Wait()
	for {
		near, err := t.listener.Accept()
		if err != nil {
			return
		}
		far, err := net.Dial("tcp", t.to)
		if err != nil {
			_ = near.Close() // the test that waits for it tells
			continue
		}
		lines.Go(func() { carry(near, far, t.heard) })
		lines.Go(func() { carry(far, near, func([]byte) bool { return !t.mute.Load() }) })
	}
}

// carry copies what pass lets by, until one side hangs up; then both do.
func carry(from, to net.Conn, pass func([]byte) bool) {
	defer func() { _ = from.Close(); _ = to.Close() }() // closed twice, by either direction
	for buffer := make([]byte, 4096); ; {
		n, err := from.Read(buffer)
		if n > 0 && pass(buffer[:n]) {
			if _, err := to.Write(buffer[:n]); err != nil {
				return
			}
		}
		if err != nil {
			return
		}
	}
}

func (t *tap) heard(bytesOnTheWire []byte) bool {
	at := time.Now()
	if bytes.Contains(bytesOnTheWire, []byte("OUTP OFF")) && t.armed.CompareAndSwap(true, false) {
		t.off <- at
	}
	return true
}

// lidModule is a Modbus module with a lid switch that can fall silent.
type lidModule struct {
	open   atomic.Bool
	silent atomic.Bool
	seen   moment       // by who polls it
	good   atomic.Int64 // ns: when it was last asked and answered
}

func (m *lidModule) Connected() bool { return true }
func (m *lidModule) Disconnected()   {}

func (m *lidModule) Inputs() ([]bool, error) { return []bool{!m.open.Load(), !m.open.Load()}, nil }

func (m *lidModule) Request(_ byte, pdu []byte) modbusserver.Reply {
	m.seen.now()
	if !m.silent.Load() && !m.open.Load() {
		m.good.Store(time.Now().UnixNano())
	}
	return modbusserver.Reply{PDU: modbusserver.Inputs(pdu, m), Silent: m.silent.Load()}
}

// callingLid is a lid switch on lines that call at each movement.
type callingLid struct {
	module *lidModule
	rings  chan struct{}
}

func (l *callingLid) Channels(context.Context) (hal.Channels, error) {
	closed := !l.module.open.Load()
	return hal.Channels{Closed: [2]bool{closed, closed}, At: time.Now()}, nil
}

func (l *callingLid) Changed() <-chan struct{} { return l.rings }

func (l *callingLid) ring() {
	select {
	case l.rings <- struct{}{}:
	default: // one call stands for all
	}
}
