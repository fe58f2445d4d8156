package gpio

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"unsafe"

	"golang.org/x/sys/unix"

	"anodized/hal"
)

// device is a chip of the kernel.
type device struct {
	file *os.File
	info unix.GPIOChipInfo
}

// Open opens a chip by its device file.
func Open(path string) (Chip, error) {
	file, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return nil, fmt.Errorf("open GPIO chip %s: %w", path, gone(err))
	}
	d := &device{file: file}
	if err := control(file, unix.GPIO_GET_CHIPINFO_IOCTL, unsafe.Pointer(&d.info)); err != nil {
		return nil, errors.Join(fmt.Errorf("ask %s what chip it is: %w", path, err), file.Close())
	}
	return d, nil
}

// control is one call of the kernel on an open file.
func control(file *os.File, request uint, argument unsafe.Pointer) error {
	raw, err := file.SyscallConn()
	if err != nil {
		return gone(err)
	}
	var errno unix.Errno
	err = raw.Control(func(fd uintptr) {
		for { // a signal may interrupt it before it did anything
			if _, _, errno = unix.Syscall(unix.SYS_IOCTL, fd, uintptr(request), uintptr(argument)); errno != unix.EINTR {
				return
			}
		}
	})
	if err == nil && errno != 0 {
		err = errno
	}
	return gone(err)
}

// gone gives the errors of a chip that went away the name that the Station knows.
func gone(err error) error {
	for _, lost := range []error{unix.ENODEV, unix.ENXIO, unix.EIO, unix.EBADF, fs.ErrNotExist, os.ErrClosed} {
		if errors.Is(err, lost) {
			return fmt.Errorf("%w: %w", hal.ErrGone, err)
		}
	}
	if errors.Is(err, unix.EBUSY) {
		return fmt.Errorf("another program has this line: %w: %w", hal.ErrRefused, err)
	}
	return err
}

// Close gives the chip back; lines that were requested stay.
func (d *device) Close() error { return d.file.Close() }

// Has looks a line up by its label or number.
func (d *device) Has(name string) (bool, error) {
	_, err := d.offset(name)
	if errors.Is(err, errNoLine) {
		return false, nil
	}
	return err == nil, err
}

var errNoLine = errors.New("no such line")

// offset is the number of a line. A label that stands at two lines names neither.
func (d *device) offset(name string) (uint32, error) {
	if number, err := strconv.ParseUint(name, 10, 32); err == nil {
		if number >= uint64(d.info.Lines) {
			return 0, fmt.Errorf("line %s of %s, which has %d: %w", name, text(d.info.Name[:]), d.info.Lines, errNoLine)
		}
		return uint32(number), nil
	}
	return named(d.info.Lines, name, func(offset uint32) (string, error) {
		info := unix.GPIOV2LineInfo{Offset: offset}
		err := control(d.file, unix.GPIO_V2_GET_LINEINFO_IOCTL, unsafe.Pointer(&info))
		return text(info.Name[:]), err
	})
}

// named finds the one line with a label.
func named(count uint32, name string, label func(uint32) (string, error)) (uint32, error) {
	found := -1
	for offset := range count {
		is, err := label(offset)
		if err != nil {
			return 0, fmt.Errorf("ask line %d for its label: %w", offset, err)
		}
		if is == name && found >= 0 {
			return 0, fmt.Errorf("label %q stands at lines %d and %d: give the number: %w", name, found, offset, hal.ErrRange)
		}
		if is == name {
			found = int(offset)
		}
	}
	if found < 0 {
		return 0, fmt.Errorf("label %q: %w", name, errNoLine)
	}
	return uint32(found), nil
}

// text reads a name of fixed size that ends at its first zero byte.
func text(fixed []byte) string { return unix.ByteSliceToString(fixed) }

// Request asks the kernel for lines.
func (d *device) Request(r Request) (Requested, error) {
	if err := r.check(); err != nil {
		return nil, err
	}
	offsets := make([]uint32, len(r.Lines))
	for i, line := range r.Lines {
		offset, err := d.offset(line.Name)
		if err != nil {
			return nil, fmt.Errorf("find line %q: %w", line.Name, err)
		}
		offsets[i] = offset
	}
	asked, err := encode(r, offsets)
	if err != nil {
		return nil, err
	}
	if err := control(d.file, unix.GPIO_V2_GET_LINE_IOCTL, unsafe.Pointer(&asked)); err != nil {
		return nil, fmt.Errorf("ask for the lines of %q: %w", r.Consumer, err)
	}
	return newHandle(int(asked.Fd), offsets)
}
