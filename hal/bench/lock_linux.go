package bench

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net"

	"golang.org/x/sys/unix"
)

// takeName takes the place for this computer: a service and a person at the terminal
// are two users, whose folders are not the same. A name in the abstract name space
// (unix(7)) needs no file and goes with its process.
func takeName(place string) ([]io.Closer, error) {
	sum := sha256.Sum256([]byte(place))
	name := "@anodized-bench-" + hex.EncodeToString(sum[:16])
	held, err := net.Listen("unix", name)
	if errors.Is(err, unix.EADDRINUSE) {
		return nil, inUse(listener(name))
	}
	if err != nil {
		return nil, fmt.Errorf("take its name: %w", err)
	}
	return []io.Closer{held}, nil
}

// listener is who listens at a name, as the kernel tells.
func listener(name string) string {
	unknown := "a process of another user"
	connection, err := net.Dial("unix", name)
	if err != nil {
		return unknown
	}
	defer connection.Close() // nothing was written: there is nothing to lose
	raw, err := connection.(*net.UnixConn).SyscallConn()
	if err != nil {
		return unknown
	}
	var who *unix.Ucred
	err = raw.Control(func(fd uintptr) { who, _ = unix.GetsockoptUcred(int(fd), unix.SOL_SOCKET, unix.SO_PEERCRED) })
	if err != nil || who == nil {
		return unknown
	}
	return fmt.Sprintf("process %d of user %d", who.Pid, who.Uid)
}
