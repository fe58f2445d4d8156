package profiles

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDaemon(t *testing.T) {
	d, err := ReadDaemon("daemon.yaml", good(t, "daemon.yaml"))
	require.NoError(t, err)
	assert.Equal(t, "192.0.2.10:7070", d.Listen)
	assert.Equal(t, []string{"bench.example"}, d.Hosts)
	assert.Equal(t, "bench.yaml", d.Bench)
	assert.Equal(t, "racks", d.Racks)
	assert.Equal(t, "/dev/watchdog", d.BoardWatchdog)
	assert.Equal(t, 15*time.Second, d.BoardWatchdogTime)
	require.Len(t, d.Credentials, 2)
	assert.Equal(t, RoleOperate, d.Credentials[0].Role)
	assert.NotEmpty(t, d.Credentials[0].Password)
	assert.Equal(t, Credential{Name: "wall screen", Role: RoleWatch, TokenFile: "wall.token"}, d.Credentials[1])
}

// What may be a password never comes into a message, which may go into a log.
func TestAPasswordInTheOpenIsNotRepeated(t *testing.T) {
	_, err := ReadDaemon("d", []byte("credentials:\n  - name: Ida\n    role: operate\n    password: zebra stripes\n"))
	require.Error(t, err)
	assert.NotContains(t, err.Error(), "zebra")
}

func TestLoopback(t *testing.T) {
	for _, own := range []string{"127.0.0.1:7070", "127.9.9.9:1", "localhost:0", "[::1]:7070", "[::ffff:127.0.0.1]:7070"} {
		assert.True(t, Loopback(own), own)
	}
	for _, open := range []string{"0.0.0.0:7070", ":7070", "[::]:7070", "192.0.2.5:7070", "bench.example:7070", "localhost.example:7070", "::1", "here"} {
		assert.False(t, Loopback(open), open)
	}
}
