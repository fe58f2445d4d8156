package profiles

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"syscall"
	"time"
)

// mostFile bounds what is read of a file; a day of curve at ten rows a second fits.
const mostFile = 64 << 20

// pipeWait is how long a pipe may be silent: longer than a program takes to begin, and
// short enough for a person to see that nothing comes.
const pipeWait = 10 * time.Second

// ReadFile reads a regular file, a pipe into which something is written, or standard
// input where arg is -, up to 64 MiB. It never waits for a pipe that nobody writes into,
// nor for a device.
func ReadFile(arg string, stdin io.Reader) ([]byte, error) {
	switch arg {
	case "-", "/dev/stdin", "/dev/fd/0", "/proc/self/fd/0":
		if stdin == nil {
			return nil, fmt.Errorf("%s is standard input, and there is none here", arg)
		}
		return bounded(stdin)
	}
	info, err := os.Stat(arg)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", brief(arg), cause(err))
	}
	switch kind := info.Mode().Type(); {
	case kind == 0:
		return readRegular(arg)
	case kind == fs.ModeDir:
		return nil, fmt.Errorf("%s is a folder, a file is needed", arg)
	case kind == fs.ModeNamedPipe:
		return readPipe(arg, pipeWait)
	case kind&fs.ModeDevice != 0:
		return nil, fmt.Errorf("%s is a device, a file is needed, or - for standard input", arg)
	}
	return nil, fmt.Errorf("%s is no regular file (%v), a file is needed, or - for standard input", arg, info.Mode().Type())
}

func readRegular(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", path, cause(err))
	}
	content, err := bounded(f)
	return content, errors.Join(err, f.Close())
}

// readPipe reads what others write, such as a process substitution of the shell. It is
// opened without waiting for a writer: a pipe without one ends at once.
func readPipe(path string, silence time.Duration) ([]byte, error) {
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", path, cause(err))
	}
	content, err := bounded(prompt{f, silence})
	switch err = errors.Join(err, f.Close()); {
	case errors.Is(err, os.ErrDeadlineExceeded):
		return nil, fmt.Errorf("%s is a pipe, and nothing came out of it for %v: see what should write into it, or name a file", path, silence)
	case err == nil && len(content) == 0:
		return nil, fmt.Errorf("%s is a pipe into which nothing is written: start what writes into it first, or name a file", path)
	}
	return content, err
}

// prompt is a pipe that may not be silent for long.
type prompt struct {
	from    *os.File
	silence time.Duration
}

func (p prompt) Read(into []byte) (int, error) {
	if err := p.from.SetReadDeadline(time.Now().Add(p.silence)); err != nil {
		return 0, err
	}
	return p.from.Read(into)
}

func bounded(from io.Reader) ([]byte, error) {
	content, err := io.ReadAll(io.LimitReader(from, mostFile+1))
	if err == nil && len(content) > mostFile {
		err = fmt.Errorf("more than %d bytes, which no file of ours has", mostFile)
	}
	return content, err
}
