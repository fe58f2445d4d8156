package web

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/record"
)

func TestQueueSkipsToTheNewestSnapshot(t *testing.T) {
	q := newQueue(kindSnapshot, kindEvent, kindResult)
	for i := range 100 {
		q.put(message{kind: kindSnapshot, id: uint64(i)})
		q.put(message{kind: kindNow, id: uint64(i)})
	}
	list := q.take()
	assert.LessOrEqual(t, len(list), mostSnapshots)
	assert.EqualValues(t, 99, list[len(list)-1].id)
	for _, m := range list {
		assert.Equal(t, kindSnapshot, m.kind, "only what this client asked for")
	}
}

func TestQueueIsBoundedAndKeepsResults(t *testing.T) {
	q := newQueue(kindSnapshot, kindEvent, kindResult)
	q.put(message{kind: kindResult, id: 7})
	for i := range 10 * mostEvents {
		q.put(message{kind: kindEvent, id: uint64(i)})
		q.put(message{kind: kindSnapshot, id: uint64(i)})
	}
	list := q.take()
	assert.LessOrEqual(t, len(list), mostSnapshots+mostEvents+1)
	assert.Equal(t, message{kind: kindResult, id: 7}, list[0], "a result is never left out")
	last := uint64(0)
	for _, m := range list[1:] {
		if m.kind == kindEvent {
			assert.Greater(t, m.id, last, "in order")
			last = m.id
		}
	}
	assert.EqualValues(t, 10*mostEvents-1, last, "the newest stay")
}

// pipes is a listener in memory, so that time can be simulated.
type pipes struct {
	queue chan net.Conn
	once  sync.Once
	ended chan struct{}
}

func newPipes() *pipes { return &pipes{queue: make(chan net.Conn), ended: make(chan struct{})} }

func (p *pipes) Accept() (net.Conn, error) {
	select {
	case c := <-p.queue:
		return c, nil
	case <-p.ended:
		return nil, net.ErrClosed
	}
}

func (p *pipes) Close() error   { p.once.Do(func() { close(p.ended) }); return nil }
func (p *pipes) Addr() net.Addr { return &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 7070} }

func (p *pipes) dial() net.Conn {
	ours, theirs := net.Pipe()
	p.queue <- theirs
	return ours
}

// served runs a test against a server in a bubble of simulated time.
func served(t *testing.T, test func(t *testing.T, s *stand, p *pipes)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		s, p := newStand(t), newPipes()
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go s.Run(ctx)
		go func() { ended <- s.Serve(ctx, p) }()
		test(t, s, p)
		cancel()
		require.NoError(t, <-ended)
	})
}

func ask(t *testing.T, c net.Conn, text string) *bufio.Reader {
	t.Helper()
	_, err := fmt.Fprint(c, text)
	require.NoError(t, err)
	return bufio.NewReader(c)
}

const getStream = "GET /api/events HTTP/1.1\r\nHost: localhost\r\n\r\n"

// until reads a stream until a message of some kind and returns its data.
func until(t *testing.T, r *bufio.Reader, kind string) map[string]any {
	t.Helper()
	for {
		line, err := r.ReadString('\n')
		require.NoError(t, err)
		if strings.TrimSpace(line) != "event: "+kind {
			continue
		}
		for !strings.HasPrefix(line, "data: ") {
			line, err = r.ReadString('\n')
			require.NoError(t, err)
		}
		var data map[string]any
		require.NoError(t, json.Unmarshal([]byte(line[6:]), &data))
		return data
	}
}

func TestStreamOfSnapshotsEventsAndTheResult(t *testing.T) {
	served(t, func(t *testing.T, s *stand, p *pipes) {
		c := p.dial()
		r := ask(t, c, getStream)
		assert.Equal(t, "idle", until(t, r, kindSnapshot)["state"], "the present comes first")
		now := snapshot("ramping")
		now.Tick++
		s.bench.show(now)
		for until(t, r, kindSnapshot)["state"] != "ramping" { // who joins as the pump begins may get the present twice
		}
		s.bench.listener <- controller.Event{Kind: controller.KindNote, Text: "hello"}
		assert.Equal(t, "hello", until(t, r, kindEvent)["text"])
		s.bench.listener <- controller.Event{Kind: controller.KindResult, Result: &record.Result{Outcome: record.Complete, Run: "1"}}
		assert.Equal(t, "complete", until(t, r, kindResult)["outcome"])
		assert.Equal(t, "1", s.pump.result().Run)
		require.NoError(t, c.Close())
	})
}

// A trip is shown within its tick, before its off is confirmed: that snapshot is another
// one, although its tick was shown already.
func TestASecondSnapshotOfATickIsSent(t *testing.T) {
	served(t, func(t *testing.T, s *stand, p *pipes) {
		c := p.dial()
		r := ask(t, c, getStream)
		until(t, r, kindSnapshot)
		now := snapshot("discharging")
		require.Equal(t, s.bench.Snapshot().Tick, now.Tick)
		s.bench.show(now)
		shown := make(chan any, 1)
		go func() { shown <- until(t, r, kindSnapshot)["state"] }()
		pass(time.Second)
		select {
		case state := <-shown:
			assert.Equal(t, "discharging", state)
		default:
			assert.Fail(t, "it is not sent until the tick is over")
		}
		require.NoError(t, c.Close())
	})
}

func TestPageStreamSpeaksItsWords(t *testing.T) {
	served(t, func(t *testing.T, s *stand, p *pipes) {
		c := p.dial()
		r := ask(t, c, strings.Replace(getStream, "/events", "/events?page", 1))
		assert.Equal(t, "Idle", until(t, r, kindNow)["band"].(map[string]any)["word"])
		require.NoError(t, c.Close())
	})
}

func TestClientThatDoesNotReadIsDropped(t *testing.T) {
	served(t, func(t *testing.T, s *stand, p *pipes) {
		c := p.dial()
		ask(t, c, getStream)
		for range 400 { // 40 s of snapshots that nobody reads
			now := snapshot("ramping")
			now.Tick = s.bench.Snapshot().Tick + 1
			s.bench.show(now)
			pass(100 * time.Millisecond)
		}
		s.pump.mu.Lock()
		assert.Empty(t, s.pump.queues)
		s.pump.mu.Unlock()
		require.NoError(t, c.Close())
	})
}

func TestStreamsAreBounded(t *testing.T) {
	s := newStand(t)
	for range mostStreams {
		require.True(t, s.pump.join(newQueue(kindSnapshot)))
	}
	status, _ := s.ask(t, http.MethodGet, "/api/events", "")
	assert.Equal(t, http.StatusServiceUnavailable, status)
}

func TestSlowRequestsAreEnded(t *testing.T) {
	for name, c := range map[string]struct {
		sends  string
		within time.Duration
		answer string
	}{
		"a header that never ends": {"GET /api/status HTTP/1.1\r\nHost: local", headerWait, ""},
		"a body that never comes":  {"POST /api/plan HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 9\r\n\r\n{", bodyWait, "408"},
		"a stop whose words do not": {"POST /api/stop HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 9\r\n\r\n{",
			stopWordsWait, "200"},
		"nothing more": {"GET /api/status HTTP/1.1\r\nHost: localhost\r\n\r\n", idleWait, "200"},
	} {
		t.Run(name, func(t *testing.T) {
			served(t, func(t *testing.T, s *stand, p *pipes) {
				began, connection := time.Now(), p.dial()
				all, err := io.ReadAll(ask(t, connection, c.sends))
				require.NoError(t, err, "the server closes")
				assert.Contains(t, string(all), c.answer)
				assert.LessOrEqual(t, time.Since(began), c.within+time.Second)
				require.NoError(t, connection.Close())
			})
		})
	}
}

func TestStopGetsThroughACrowd(t *testing.T) {
	served(t, func(t *testing.T, s *stand, p *pipes) {
		var all []net.Conn
		for range 4 * mostConnections { // each begins a request and says no more
			c := p.dial()
			ask(t, c, "POST /api/plan HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 9\r\n\r\n{")
			all = append(all, c)
		}
		began, c := time.Now(), p.dial()
		line, err := ask(t, c, "POST /api/stop HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0\r\n\r\n").ReadString('\n')
		require.NoError(t, err)
		assert.Contains(t, line, "200")
		assert.Less(t, time.Since(began), 200*time.Millisecond)
		assert.Len(t, s.bench.heard(), 1)
		for _, one := range append(all, c) {
			require.NoError(t, one.Close())
		}
	})
}

func TestConnectionThatIsAnsweredIsNotEvicted(t *testing.T) {
	crowd := newCrowd(2)
	var ends []net.Conn
	var contexts []context.Context
	for range 3 {
		ours, theirs := net.Pipe()
		ends = append(ends, ours)
		contexts = append(contexts, crowd.admit(context.Background(), theirs))
		if len(ends) == 1 {
			defer crowd.keep(contexts[0])()
		}
	}
	assert.Len(t, crowd.seats, 2)
	_, err := ends[1].Write([]byte("x"))
	assert.ErrorIs(t, err, io.ErrClosedPipe, "the oldest that nothing is answered on")
}

// pass lets simulated time pass: it is called inside a synctest bubble alone.
func pass(d time.Duration) { <-time.After(d) }
