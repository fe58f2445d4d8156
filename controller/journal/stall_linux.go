package journal

import (
	"fmt"
	"sync"
	"unsafe"

	"golang.org/x/sys/unix"
	"modernc.org/libc"
	sqlite3 "modernc.org/sqlite/lib"
)

// The database keeps the index of its log in a file that it maps into memory. A store into
// that memory waits in the kernel while the disk stalls, and Go knows nothing of it: the
// next garbage collection waits for the thread, and every goroutine for the collection,
// the one that switches off too. So each store is preceded by a system call on the same
// file, which waits for the same disk, and for which Go makes room. The database takes a
// lock of that index before it stores, alone and each time.

const lockAlone = sqlite3.SQLITE_SHM_LOCK | sqlite3.SQLITE_SHM_EXCLUSIVE

var patience sync.Once

// stallApart makes all connections wait for the disk where only they wait.
func stallApart() { patience.Do(registerPatient) }

// registerPatient puts the usual file system behind one whose locks ask the disk first.
func registerPatient() {
	tls := libc.NewTLS()
	defer tls.Close()
	usual := sqlite3.Xsqlite3_vfs_find(tls, 0)
	own := libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(sqlite3.Tsqlite3_vfs{})))
	name, err := libc.CString("anodized")
	if usual == 0 || own == 0 || err != nil {
		panic(fmt.Sprintf("no memory for the file system of the journal: %v", err))
	}
	table := at[sqlite3.Tsqlite3_vfs](own)
	*table = *at[sqlite3.Tsqlite3_vfs](usual)
	table.FzName = name
	open := patientOpen(called[openFunction](table.FxOpen))
	table.FxOpen = pointerTo(&open)
	keepAlive = append(keepAlive, open)
	if status := sqlite3.Xsqlite3_vfs_register(tls, own, 1); status != sqlite3.SQLITE_OK {
		panic(fmt.Sprintf("the file system of the journal: status %d", status))
	}
}

func patientOpen(open openFunction) openFunction {
	var made sync.Mutex
	tables := map[uintptr]uintptr{} // of ours, by the usual one
	return func(tls *libc.TLS, vfs, name, file uintptr, flags int32, out uintptr) int32 {
		status := open(tls, vfs, name, file, flags, out)
		if status != sqlite3.SQLITE_OK || flags&sqlite3.SQLITE_OPEN_MAIN_DB == 0 {
			return status
		}
		made.Lock()
		defer made.Unlock()
		methods := &at[sqlite3.Tsqlite3_file](file).FpMethods
		if tables[*methods] == 0 {
			tables[*methods] = patientTable(tls, *methods)
		}
		if tables[*methods] == 0 {
			return sqlite3.SQLITE_NOMEM // the database closes what is open
		}
		*methods = tables[*methods]
		return status
	}
}

// patientTable copies a table of methods; 0 where there is no memory.
func patientTable(tls *libc.TLS, usual uintptr) uintptr {
	own := libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(sqlite3.Tsqlite3_io_methods{})))
	if own == 0 {
		return 0
	}
	table := at[sqlite3.Tsqlite3_io_methods](own)
	*table = *at[sqlite3.Tsqlite3_io_methods](usual)
	locking := called[lockFunction](table.FxShmLock)
	lock := lockFunction(func(tls *libc.TLS, file uintptr, offset, count, flags int32) int32 {
		if flags&lockAlone == lockAlone {
			awaitDisk(libc.GoString(at[sqlite3.TunixFile](file).FzPath) + "-shm")
		}
		return locking(tls, file, offset, count, flags)
	})
	table.FxShmLock = pointerTo(&lock)
	keepAlive = append(keepAlive, lock)
	return own
}

// awaitDisk returns once the disk takes a change of this file, or refuses it. What it
// changes is the time of the last change, which a store into the file changes too.
func awaitDisk(path string) {
	_ = unix.UtimesNanoAt(unix.AT_FDCWD, path, []unix.Timespec{{Nsec: unix.UTIME_OMIT}, {Nsec: unix.UTIME_NOW}}, 0) // that it came back is all that is asked
}
