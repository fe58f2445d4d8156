package journal

import (
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/require"
	"modernc.org/libc"
	sqlite3 "modernc.org/sqlite/lib"
)

// watchedDisk stands between the database and the file system, and writes down every
// write, truncation, sync and removal in its order.
type watchedDisk struct {
	mu    sync.Mutex
	under string // only files in this folder
	began time.Time
	names map[uintptr]string
	done  []access
}

// access is one call of the database to the file system.
type access struct {
	file   string // without its folder
	what   byte   // 'w'rite, 't'runcate, 's'ync, 'r'emove
	offset int64  // of a write; the new size of a truncation
	data   []byte
	at     time.Duration
}

// Further functions in the tables of the database's file system.
type (
	removeFunction   = func(tls *libc.TLS, vfs, name uintptr, sync int32) int32
	writeFunction    = func(tls *libc.TLS, file, data uintptr, size int32, offset int64) int32
	truncateFunction = func(tls *libc.TLS, file uintptr, size int64) int32
	syncFunction     = func(tls *libc.TLS, file uintptr, flags int32) int32
)

// watchDisk makes the watched disk the usual one until the end of the test.
func watchDisk(t *testing.T, under string) *watchedDisk {
	t.Helper()
	stallApart() // beneath this one, or it would take its place
	w := &watchedDisk{under: under, began: time.Now(), names: map[uintptr]string{}}
	tls := libc.NewTLS()
	usual := sqlite3.Xsqlite3_vfs_find(tls, 0)
	own := libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(sqlite3.Tsqlite3_vfs{})))
	*at[sqlite3.Tsqlite3_vfs](own) = *at[sqlite3.Tsqlite3_vfs](usual)
	name, err := libc.CString("watched")
	require.NoError(t, err)
	table := at[sqlite3.Tsqlite3_vfs](own)
	table.FzName = name
	w.table(table, at[sqlite3.Tsqlite3_vfs](usual))
	require.EqualValues(t, sqlite3.SQLITE_OK, sqlite3.Xsqlite3_vfs_register(tls, own, 1))
	t.Cleanup(func() {
		require.EqualValues(t, sqlite3.SQLITE_OK, sqlite3.Xsqlite3_vfs_unregister(tls, own))
		require.EqualValues(t, sqlite3.SQLITE_OK, sqlite3.Xsqlite3_vfs_register(tls, usual, 1))
		tls.Close()
	})
	return w
}

// watchedAlive holds what only C structures point to.
var watchedAlive []any

func (w *watchedDisk) table(own, usual *sqlite3.Tsqlite3_vfs) {
	opening, removing := called[openFunction](usual.FxOpen), called[removeFunction](usual.FxDelete)
	open := openFunction(func(tls *libc.TLS, vfs, name, file uintptr, flags int32, out uintptr) int32 {
		status := opening(tls, vfs, name, file, flags, out)
		if status == sqlite3.SQLITE_OK && name != 0 {
			w.opened(tls, file, libc.GoString(name))
		}
		return status
	})
	remove := removeFunction(func(tls *libc.TLS, vfs, name uintptr, sync int32) int32 {
		w.note(libc.GoString(name), access{what: 'r'})
		return removing(tls, vfs, name, sync)
	})
	own.FxOpen, own.FxDelete = pointerTo(&open), pointerTo(&remove)
	watchedAlive = append(watchedAlive, open, remove)
}

// opened puts our functions into the table of an open file.
func (w *watchedDisk) opened(tls *libc.TLS, file uintptr, name string) {
	if !strings.HasPrefix(name, w.under) {
		return
	}
	methods := &at[sqlite3.Tsqlite3_file](file).FpMethods
	usual := at[sqlite3.Tsqlite3_io_methods](*methods)
	own := libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(*usual)))
	table := at[sqlite3.Tsqlite3_io_methods](own)
	*table = *usual
	writing, truncating, syncing := called[writeFunction](usual.FxWrite), called[truncateFunction](usual.FxTruncate), called[syncFunction](usual.FxSync)
	write := writeFunction(func(tls *libc.TLS, file, data uintptr, size int32, offset int64) int32 {
		w.note(name, access{what: 'w', offset: offset, data: append([]byte{}, unsafe.Slice(at[byte](data), size)...)})
		return writing(tls, file, data, size, offset)
	})
	truncate := truncateFunction(func(tls *libc.TLS, file uintptr, size int64) int32 {
		w.note(name, access{what: 't', offset: size})
		return truncating(tls, file, size)
	})
	sync := syncFunction(func(tls *libc.TLS, file uintptr, flags int32) int32 {
		status := syncing(tls, file, flags)
		w.note(name, access{what: 's'})
		return status
	})
	table.FxWrite, table.FxTruncate, table.FxSync = pointerTo(&write), pointerTo(&truncate), pointerTo(&sync)
	watchedAlive = append(watchedAlive, write, truncate, sync)
	*methods = own
}

func (w *watchedDisk) note(name string, one access) {
	w.mu.Lock()
	defer w.mu.Unlock()
	one.file, one.at = filepath.Base(name), time.Since(w.began)
	w.done = append(w.done, one)
}

// count is how many accesses there were so far.
func (w *watchedDisk) count() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return len(w.done)
}
