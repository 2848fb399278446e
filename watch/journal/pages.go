package journal

import (
	"encoding/binary"
	"errors"
	"io"
	"math"
	"os"
)

// This file reads the database without SQLite, for when the file is damaged: every page for itself, so that one that cannot be
// used takes no others with it. Source: "Database File Format", sqlite.org/fileformat2.html, sections 1.6 (b-tree pages),
// 2.1 (records) and 4 (write-ahead log), from memory.

const (
	magic      = "SQLite format 3\x00"
	leafTable  = 0x0d
	headSize   = 100 // of the file, on page 1
	logHead    = 32
	frameHead  = 24
	frameSize  = frameHead + pageSize
	maxPayload = queueBytes + 1<<20
)

// walLog is the write-ahead log of a journal in memory.
type walLog struct {
	data []byte
	good int            // frames, from the first, that are committed and whole
	at   map[uint32]int // page number to its newest good frame
}

// readLog reads the write-ahead log; nil when there is none.
func readLog(path string) (*walLog, error) {
	data, err := os.ReadFile(path + "-wal")
	if errors.Is(err, os.ErrNotExist) || err == nil && len(data) == 0 {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	l := &walLog{data: data, at: map[uint32]int{}}
	if len(data) < logHead {
		return l, nil
	}
	m := binary.BigEndian.Uint32(data)
	var order binary.ByteOrder = binary.LittleEndian
	if m&1 == 1 {
		order = binary.BigEndian
	}
	s0, s1 := logSum(order, 0, 0, data[:24])
	if m&^1 != 0x377f0682 || binary.BigEndian.Uint32(data[8:]) != pageSize || s0 != binary.BigEndian.Uint32(data[24:]) || s1 != binary.BigEndian.Uint32(data[28:]) {
		return l, nil
	}
	open := map[uint32]int{}
	for i := range l.frames() {
		f := l.frame(i)
		s0, s1 = logSum(order, s0, s1, f[:8])
		s0, s1 = logSum(order, s0, s1, f[frameHead:])
		if string(f[8:16]) != string(data[16:24]) || s0 != binary.BigEndian.Uint32(f[16:]) || s1 != binary.BigEndian.Uint32(f[20:]) {
			break
		}
		open[binary.BigEndian.Uint32(f)] = i
		if binary.BigEndian.Uint32(f[4:]) != 0 { // the last frame of a transaction
			for page, at := range open {
				l.at[page] = at
			}
			clear(open)
			l.good = i + 1
		}
	}
	return l, nil
}

// logSum carries a checksum of the log on over b, whose length is a multiple of 8.
func logSum(order binary.ByteOrder, s0, s1 uint32, b []byte) (uint32, uint32) {
	for ; len(b) >= 8; b = b[8:] {
		s0 += order.Uint32(b) + s1
		s1 += order.Uint32(b[4:]) + s0
	}
	return s0, s1
}

// frames is how many whole frames there are, good or not.
func (l *walLog) frames() int {
	if l == nil || len(l.data) < logHead {
		return 0
	}
	return (len(l.data) - logHead) / frameSize
}

func (l *walLog) frame(i int) []byte { return l.data[logHead+i*frameSize:][:frameSize] }

// page is the newest good content of a page; nil when the log has none.
func (l *walLog) page(n uint32) []byte {
	if l == nil {
		return nil
	}
	i, ok := l.at[n]
	if !ok {
		return nil
	}
	return l.frame(i)[frameHead:]
}

// newest is the highest sequence number of a sound row in the good frames; 0 when there is none.
func (l *walLog) newest() int64 {
	last := int64(0)
	if l == nil {
		return 0
	}
	for n := range l.at {
		for c := range cells(n, l.page(n), l.page) {
			if r, ok := c.record(); ok {
				last = max(last, r.seq)
			}
		}
	}
	return last
}

// cell is one row of some table: its row number and the columns after the first, which is that number.
type cell struct {
	id      int64
	columns []any // nil, int64, float64, string or []byte
}

// cells yields the rows of a page that is, or once was, a leaf of a table. other gives the pages that long rows run over to. What
// makes no sense is passed over; that a row is sound only its checksum tells.
func cells(n uint32, page []byte, other func(uint32) []byte) func(func(cell) bool) {
	return func(yield func(cell) bool) {
		head := 0
		if n == 1 {
			head = headSize
		}
		if len(page) != pageSize || page[head] != leafTable {
			return
		}
		count := int(binary.BigEndian.Uint16(page[head+3:]))
		for i := range count {
			p := head + 8 + 2*i
			if p+2 > pageSize {
				return
			}
			at := int(binary.BigEndian.Uint16(page[p:]))
			if at >= pageSize {
				continue
			}
			if c, ok := readCell(page[at:], other); ok && !yield(c) {
				return
			}
		}
	}
}

func readCell(b []byte, other func(uint32) []byte) (cell, bool) {
	size, b := varint(b)
	id, b := varint(b)
	if b == nil || size > maxPayload {
		return cell{}, false
	}
	// How much of a long row stands on its own page: section 1.6, with U = pageSize.
	const most, least = pageSize - 35, (pageSize-12)*32/255 - 23
	here, n := int(size), int(size)
	if n > most {
		if here = least + (n-least)%(pageSize-4); here > most {
			here = least
		}
	}
	if here > len(b) {
		return cell{}, false
	}
	payload := b[:here:here]
	if n > here {
		if len(b) < here+4 {
			return cell{}, false
		}
		for next := binary.BigEndian.Uint32(b[here:]); len(payload) < n; {
			o := other(next)
			if len(o) != pageSize {
				return cell{}, false
			}
			payload = append(payload, o[4:4+min(pageSize-4, n-len(payload))]...)
			next = binary.BigEndian.Uint32(o)
		}
	}
	columns, ok := readColumns(payload)
	return cell{int64(id), columns}, ok
}

func readColumns(b []byte) ([]any, bool) {
	size, types := varint(b)
	if used := uint64(len(b) - len(types)); types == nil || size < used || size > uint64(len(b)) {
		return nil, false
	}
	types, data := b[len(b)-len(types):size], b[size:]
	var columns []any
	for len(types) > 0 {
		var t uint64
		if t, types = varint(types); types == nil {
			return nil, false
		}
		n := 0
		switch {
		case t >= 12:
			if (t-12)/2 > uint64(len(data)) {
				return nil, false
			}
			n = int((t - 12) / 2)
		case t == 10 || t == 11:
			return nil, false
		default:
			n = [10]int{0, 1, 2, 3, 4, 6, 8, 8, 0, 0}[t]
		}
		if n > len(data) || len(columns) == 16 {
			return nil, false
		}
		d := data[:n]
		data = data[n:]
		switch {
		case t == 0:
			columns = append(columns, nil)
		case t == 7:
			columns = append(columns, math.Float64frombits(binary.BigEndian.Uint64(d)))
		case t <= 9:
			v := int64(t) - 8 // 8 is the number 0, 9 is 1
			if n > 0 {
				v = int64(int8(d[0]))
				for _, x := range d[1:] {
					v = v<<8 | int64(x)
				}
			}
			columns = append(columns, v)
		case t%2 == 0:
			columns = append(columns, d)
		default:
			columns = append(columns, string(d))
		}
	}
	return columns, true
}

// varint reads an integer of one to nine bytes, the highest first; the rest is nil when b ends before it does.
func varint(b []byte) (uint64, []byte) {
	v := uint64(0)
	for i, x := range b {
		if i == 8 {
			return v<<8 | uint64(x), b[9:]
		}
		if v = v<<7 | uint64(x&0x7f); x < 0x80 {
			return v, b[i+1:]
		}
	}
	return 0, nil
}

// record takes a cell for a row of the table of records, if its checksum says so.
func (c *cell) record() (stored, bool) {
	if len(c.columns) != 6 {
		return stored{}, false
	}
	session, ok1 := c.columns[1].(int64)
	at, ok2 := c.columns[2].(int64)
	kind, ok3 := c.columns[3].(string)
	body, ok4 := c.columns[4].(string)
	check, ok5 := c.columns[5].(int64)
	r := stored{seq: c.id, session: session, at: at, kind: kind, body: body, check: check}
	return r, ok1 && ok2 && ok3 && ok4 && ok5 && r.sound()
}

// session takes a cell for a row of the table of sessions, if its checksum says so.
func (c *cell) session() (s Session, started, check int64, ok bool) {
	if len(c.columns) != 8 {
		return s, 0, 0, false
	}
	started, ok1 := c.columns[1].(int64)
	check, ok2 := c.columns[7].(int64)
	s.ID = c.id
	for i, to := range []*string{&s.Program, &s.Rig, &s.Print, &s.Mount, &s.Document} {
		text, isText := c.columns[2+i].(string)
		if !isText {
			return s, 0, 0, false
		}
		*to = text
	}
	return s, started, check, ok1 && ok2 && check == s.sum(started)
}

// pageFile is a database file, read page by page.
type pageFile struct {
	f   *os.File
	log *walLog
}

// page is the newest content of page n, from 1; a last one that is cut off ends in zeros. nil: there is none, or it cannot be read.
func (p *pageFile) page(n uint32) []byte {
	if b := p.log.page(n); b != nil || n == 0 || p.f == nil {
		return b
	}
	b := make([]byte, pageSize)
	got, err := p.f.ReadAt(b, int64(n-1)*pageSize)
	if err != nil && !errors.Is(err, io.EOF) || got == 0 {
		return nil
	}
	return b
}
