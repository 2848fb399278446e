package soak

import (
	"context"
	"path/filepath"
	"strconv"
	"time"

	"legroom/watch"
	"legroom/watch/journal"
)

// book is the journal of a night: of every one over sockets, and of one in bookEvery in virtual time, where it takes most of the
// time of a night.
type book struct {
	j     *journal.Journal
	path  string
	rows  int
	since int // rows since the last flush
}

const (
	bookEvery = 40
	flushRows = 500 // in virtual time nobody waits for the disk
)

func openBook(n *night) (*book, error) {
	if n.o.Sockets == 0 && n.rep.index%bookEvery != 0 {
		return nil, nil
	}
	path := filepath.Join(n.dir, "night-"+strconv.Itoa(n.rep.index)+".journal")
	return &book{j: journal.Open(path, journal.Options{Session: journal.Session{Program: "soak", Rig: n.s.rig.Name, Print: n.s.print}}), path: path}, nil
}

// take hands records over. A night without a journal takes none.
func (b *book) take(rs []watch.Record) error {
	if b == nil {
		return nil
	}
	b.rows += len(rs)
	if b.since += len(rs); b.since >= flushRows {
		b.since = 0
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := b.j.Flush(ctx); err != nil {
			return err
		}
	}
	return b.j.Record(rs)
}

// close reads the journal back and counts what is missing.
func (b *book) close(n *night) {
	if b == nil {
		return
	}
	if err := b.j.Close(); err != nil {
		n.found("lost rows", "%v", err)
	}
	n.rep.JournalRows = b.rows
	n.rep.JournalRowsLost = b.rows
	r, err := journal.OpenReader(b.path)
	if err != nil {
		n.found("lost rows", "%v", err)
		return
	}
	defer r.Close()
	read := 0
	for _, err := range r.Records(context.WithoutCancel(n.ctx), time.Time{}, time.Time{}) {
		if err != nil {
			n.found("lost rows", "%v", err)
			break
		}
		read++
	}
	n.rep.JournalRowsLost = b.rows - read
}
