package journal

import (
	"unsafe"

	"modernc.org/libc"
)

// The function tables of the database's file system are C structures.
type (
	openFunction = func(tls *libc.TLS, vfs, name, file uintptr, flags int32, out uintptr) int32
	lockFunction = func(tls *libc.TLS, file uintptr, offset, count, flags int32) int32
)

// called makes a Go function of a pointer in such a table.
func called[F any](pointer uintptr) F {
	held := struct{ p uintptr }{pointer}
	return *(*F)(unsafe.Pointer(&held))
}

// pointerTo is the other way round. The table must outlive no function: ours are never freed.
func pointerTo[F any](f *F) uintptr { return *(*uintptr)(unsafe.Pointer(f)) }

func at[T any](pointer uintptr) *T { return (*T)(*(*unsafe.Pointer)(unsafe.Pointer(&pointer))) }

// keepAlive holds what only C structures point to.
var keepAlive []any
