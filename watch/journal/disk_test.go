//go:build linux && (amd64 || arm64)

package journal

import (
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"unsafe"

	"modernc.org/libc"
	lib "modernc.org/sqlite/lib"
)

// disk stands between SQLite and the operating system: it passes everything on, and keeps what was written, cut off, synced and
// deleted, in order, so that a power cut at any point of it can be played through. It can also be full.
type disk struct {
	name string
	full atomic.Bool
	sick atomic.Bool // syncs fail

	mu    sync.Mutex
	ops   []op
	files map[uintptr]opened
	base  *lib.Tsqlite3_vfs
	// The addresses of these are known to SQLite; they are kept so that they stay.
	fns []any
}

type opened struct {
	name string // of the file
	was  *lib.Tsqlite3_io_methods
}

// op is one call that changes a file, or makes what was changed last.
type op struct {
	kind byte // w, t, s or d: write, truncate, sync, delete
	file string
	at   int64 // of a write, the new length, or 1 when the folder is synced after a delete
	data []byte
}

var disks atomic.Int32

// newDisk registers a disk with SQLite, for as long as the test program runs: SQLite may hold on to it.
func newDisk(t *testing.T) *disk {
	t.Helper()
	tls := libc.NewTLS()
	base := lib.Xsqlite3_vfs_find(tls, 0)
	d := &disk{name: "disk" + string(rune('a'+disks.Add(1))), files: map[uintptr]opened{}, base: *(**lib.Tsqlite3_vfs)(unsafe.Pointer(&base))}
	name, err := libc.CString(d.name)
	if err != nil {
		t.Fatal(err)
	}
	own := libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(lib.Tsqlite3_vfs{})))
	v := *(**lib.Tsqlite3_vfs)(unsafe.Pointer(&own))
	*v = *d.base
	v.FpNext, v.FzName = 0, name
	v.FxOpen, v.FxDelete = d.address(d.open), d.address(d.remove)
	if rc := lib.Xsqlite3_vfs_register(tls, own, 0); rc != lib.SQLITE_OK {
		t.Fatal(rc)
	}
	return d
}

// address makes of a function what SQLite calls.
func (d *disk) address(f any) uintptr {
	d.fns = append(d.fns, f)
	return (*[2]uintptr)(unsafe.Pointer(&f))[1]
}

// call makes of what SQLite calls a function.
func call[F any](address uintptr) F {
	return *(*F)(unsafe.Pointer(&address))
}

func (d *disk) open(tls *libc.TLS, vfs, name, file uintptr, flags int32, out uintptr) int32 {
	rc := call[func(*libc.TLS, uintptr, uintptr, uintptr, int32, uintptr) int32](d.base.FxOpen)(tls, vfs, name, file, flags, out)
	f := *(**lib.Tsqlite3_file)(unsafe.Pointer(&file))
	if rc != lib.SQLITE_OK || name == 0 || f.FpMethods == 0 {
		return rc
	}
	was := *(**lib.Tsqlite3_io_methods)(unsafe.Pointer(&f.FpMethods))
	m := libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(*was)))
	own := *(**lib.Tsqlite3_io_methods)(unsafe.Pointer(&m))
	*own = *was
	d.mu.Lock()
	defer d.mu.Unlock()
	own.FxWrite, own.FxTruncate = d.address(d.write), d.address(d.truncate)
	own.FxSync, own.FxClose = d.address(d.sync), d.address(d.close)
	d.files[file] = opened{filepath.Base(libc.GoString(name)), was}
	f.FpMethods = m
	return rc
}

func (d *disk) file(file uintptr) opened {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.files[file]
}

func (d *disk) note(rc int32, o op) int32 {
	if rc == lib.SQLITE_OK {
		d.mu.Lock()
		d.ops = append(d.ops, o)
		d.mu.Unlock()
	}
	return rc
}

func (d *disk) write(tls *libc.TLS, file, buf uintptr, n int32, at int64) int32 {
	if d.full.Load() {
		return lib.SQLITE_FULL
	}
	f := d.file(file)
	data := append([]byte(nil), unsafe.Slice(*(**byte)(unsafe.Pointer(&buf)), n)...)
	rc := call[func(*libc.TLS, uintptr, uintptr, int32, int64) int32](f.was.FxWrite)(tls, file, buf, n, at)
	return d.note(rc, op{'w', f.name, at, data})
}

func (d *disk) truncate(tls *libc.TLS, file uintptr, n int64) int32 {
	f := d.file(file)
	return d.note(call[func(*libc.TLS, uintptr, int64) int32](f.was.FxTruncate)(tls, file, n), op{'t', f.name, n, nil})
}

func (d *disk) sync(tls *libc.TLS, file uintptr, flags int32) int32 {
	if d.sick.Load() {
		return lib.SQLITE_IOERR_FSYNC
	}
	f := d.file(file)
	return d.note(call[func(*libc.TLS, uintptr, int32) int32](f.was.FxSync)(tls, file, flags), op{'s', f.name, 0, nil})
}

func (d *disk) close(tls *libc.TLS, file uintptr) int32 {
	f := d.file(file)
	rc := call[func(*libc.TLS, uintptr) int32](f.was.FxClose)(tls, file)
	d.mu.Lock()
	delete(d.files, file)
	d.mu.Unlock()
	return rc
}

func (d *disk) remove(tls *libc.TLS, vfs, name uintptr, dirSync int32) int32 {
	rc := call[func(*libc.TLS, uintptr, uintptr, int32) int32](d.base.FxDelete)(tls, vfs, name, dirSync)
	return d.note(rc, op{'d', filepath.Base(libc.GoString(name)), int64(dirSync), nil})
}

// length is how many operations there have been.
func (d *disk) length() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return len(d.ops)
}

// image is what the files hold: for each what is on the disk for certain, and what may or may not be.
type image struct {
	safe  map[string][]byte
	loose map[string][]op
}

// apply does one operation to a file's content; nil is no file.
func apply(b []byte, o op) []byte {
	switch o.kind {
	case 'w':
		if end := o.at + int64(len(o.data)); int64(len(b)) < end {
			b = append(b, make([]byte, end-int64(len(b)))...)
		}
		copy(b[o.at:], o.data)
	case 't':
		if int64(len(b)) > o.at {
			b = b[:o.at]
		}
		b = append(b, make([]byte, o.at-int64(len(b)))...)
	case 'd':
		b = nil
	}
	return b
}

// step carries an image on over one operation. With honest unset, a sync is a lie.
func (m *image) step(o op, honest bool) {
	if o.kind != 's' {
		m.loose[o.file] = append(m.loose[o.file], o)
	}
	if honest && (o.kind == 's' || o.kind == 'd' && o.at == 1) {
		for _, l := range m.loose[o.file] {
			m.safe[o.file] = apply(m.safe[o.file], l)
		}
		delete(m.loose, o.file)
	}
}

func writeImage(t *testing.T, dir string, files map[string][]byte) {
	t.Helper()
	for name, b := range files {
		if b == nil {
			continue
		}
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
