//go:build unix

package bench

import (
	"net"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestStrayBytesAreSeen: bytes that nobody asked for are noticed before the next
// question, and a connection that ended as well.
func TestStrayBytesAreSeen(t *testing.T) {
	near, far := loopback(t)
	s, err := newStream(near)
	require.NoError(t, err)
	pending, err := s.Pending()
	require.NoError(t, err)
	require.False(t, pending)
	_, err = far.Write([]byte("x"))
	require.NoError(t, err)
	require.Eventually(t, func() bool { pending, err := s.Pending(); return err == nil && pending }, patience, time.Millisecond)
	_, err = s.Read(make([]byte, 4))
	require.NoError(t, err)
	require.NoError(t, far.Close())
	require.Eventually(t, func() bool { pending, err := s.Pending(); return err == nil && pending }, patience, time.Millisecond)
}

func loopback(t *testing.T) (near, far net.Conn) {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	near, err = net.Dial("tcp", listener.Addr().String())
	require.NoError(t, err)
	far, err = listener.Accept()
	require.NoError(t, err)
	require.NoError(t, listener.Close())
	t.Cleanup(func() { require.NoError(t, near.Close()) })
	return near, far
}
