//go:build unix

package profiles

import (
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is no regular file keeps nobody waiting: each is refused with what to do.
func TestWhatIsNoFileIsRefused(t *testing.T) {
	folder := t.TempDir()
	fifo, socket := filepath.Join(folder, "fifo"), filepath.Join(folder, "socket")
	require.NoError(t, syscall.Mkfifo(fifo, 0o600))
	listener, err := net.Listen("unix", socket)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, listener.Close()) })
	for path, why := range map[string]string{
		folder:       "is a folder, a file is needed",
		fifo:         "is a pipe into which nothing is written: start what writes into it first, or name a file",
		socket:       "is no regular file",
		"/dev/zero":  "/dev/zero is a device, a file is needed, or - for standard input",
		"/dev/stdin": "/dev/stdin is standard input, and there is none here",
	} {
		_, err := ReadFile(path, nil)
		assert.ErrorContains(t, err, why, path)
	}
}

// A pipe that is written into is read to its end, whether by its own name or as the shell
// spells a process substitution, and standard input by each of its names.
func TestPipesAreRead(t *testing.T) {
	folder := t.TempDir()
	fifo := filepath.Join(folder, "fifo")
	require.NoError(t, syscall.Mkfifo(fifo, 0o600))
	writer, err := os.OpenFile(fifo, os.O_RDWR, 0) // such a one does not wait for a reader
	require.NoError(t, err)
	_, err = writer.WriteString("name: a")
	require.NoError(t, err)
	_, err = readPipe(fifo, 50*time.Millisecond)
	assert.ErrorContains(t, err, "is a pipe, and nothing came out of it for 50ms", "its writer has not ended")

	in, out, err := os.Pipe()
	require.NoError(t, err)
	_, err = out.WriteString("name: b")
	require.NoError(t, errors.Join(err, out.Close(), writer.Close()))
	content, err := ReadFile(fmt.Sprintf("/dev/fd/%d", in.Fd()), nil)
	require.NoError(t, errors.Join(err, in.Close()))
	assert.Equal(t, "name: b", string(content))
	for _, name := range []string{"-", "/dev/stdin", "/dev/fd/0", "/proc/self/fd/0"} {
		content, err := ReadFile(name, strings.NewReader("name: c"))
		require.NoError(t, err)
		assert.Equal(t, "name: c", string(content))
	}
}
