package journal

import (
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Recovery is what was read out of a damaged journal.
type Recovery struct {
	Kept     string `json:"kept"`     // the damaged file, as it was; "" when there was none any more
	Rows     int64  `json:"rows"`     // read out of it
	Sessions int64  `json:"sessions"` // likewise
	Gone     int64  `json:"gone"`     // rows that were acknowledged, and are not among them nor were gone before
	// AtLeast says that Gone is only what is known to be missing: the count was gone too, and how many rows there were after
	// the last one that was found nobody knows.
	AtLeast bool `json:"at_least"`
	// FirstGone and LastGone are the sequence numbers between which all of them were; 0 when none is gone.
	FirstGone int64 `json:"first_gone"`
	LastGone  int64 `json:"last_gone"`
}

func (r *Recovery) String() string {
	gone := fmt.Sprintf("%d rows are gone", r.Gone)
	if r.AtLeast {
		gone = fmt.Sprintf("at least %d rows are gone", r.Gone)
	}
	if r.Gone > 0 {
		gone += fmt.Sprintf(" (between %d and %d)", r.FirstGone, r.LastGone)
	}
	kept := "the damaged file itself had disappeared"
	if r.Kept != "" {
		kept = "the damaged file is kept as " + r.Kept
	}
	return fmt.Sprintf("%d rows were read out of it, %s; %s", r.Rows, gone, kept)
}

// Recover reads every sound row out of a damaged journal into a new file of the same name, and keeps the old one beside it under
// another. Nobody may have the file open. A row is sound when its checksum is right, wherever in the file it lies. It takes
// about as long as copying the file; it may be run on a sound journal too.
func Recover(path string) (*Recovery, error) {
	r, err := rescue(path)
	if err != nil {
		return nil, fmt.Errorf("reading %s out: %w", path, err)
	}
	return r, nil
}

func rescue(path string) (*Recovery, error) {
	log, err := readLog(path)
	if err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, err
	}
	defer f.Close()
	p := &pageFile{f: f, log: log}
	if v := p.version(); v > len(steps) {
		return nil, fmt.Errorf("%w: it has version %d, this program knows up to %d: use the program that wrote it, or a newer one", ErrNewer, v, len(steps))
	}
	part := path + ".part"
	for _, end := range []string{"", "-wal", "-shm"} {
		if err := os.Remove(part + end); err != nil && !errors.Is(err, os.ErrNotExist) {
			return nil, err
		}
	}
	count, counted := readCounter(path)
	to := ""
	if f != nil {
		to = aside(path, "damaged", time.Now())
	}
	r, last, err := p.pour(part, to, &count, counted)
	if err != nil {
		os.Remove(part)
		return nil, err
	}
	if f != nil {
		f.Close() // or Windows would not rename it
	}
	return r, swap(path, part, r, counter{floor: count.floor, last: last, gone: count.gone + r.Gone})
}

// version is the version of the tables, by the head of the file; 0 when that cannot be read.
func (p *pageFile) version() int {
	head := p.page(1)
	if len(head) < headSize || string(head[:16]) != magic || binary.BigEndian.Uint32(head[68:]) != application {
		return 0
	}
	return int(binary.BigEndian.Uint32(head[60:]))
}

// pour writes all sound rows into a new database, and one that says what was lost; last is the number of that one.
func (p *pageFile) pour(part, kept string, count *counter, counted bool) (r *Recovery, last int64, err error) {
	db, err := connect(part, "", "")
	if err != nil {
		return nil, 0, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	// Until it is whole nobody needs it: no log, no sync. settle syncs it in the end.
	if _, err := db.Exec(fmt.Sprintf("PRAGMA page_size = %d; PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF", pageSize)); err != nil {
		return nil, 0, err
	}
	tx, err := db.Begin()
	if err != nil {
		return nil, 0, err
	}
	defer tx.Rollback()
	if _, err := tx.Exec(strings.Join(steps, ";") + fmt.Sprintf("; PRAGMA application_id = %d; PRAGMA user_version = %d", application, len(steps))); err != nil {
		return nil, 0, err
	}
	record, err := tx.Prepare("INSERT OR IGNORE INTO record (seq, session, at, kind, body, sum) VALUES (?, ?, ?, ?, ?, ?)")
	if err != nil {
		return nil, 0, err
	}
	session, err := tx.Prepare("INSERT OR IGNORE INTO session (id, started, program, rig, fingerprint, mount, document, sum) VALUES (?, ?, ?, ?, ?, ?, ?, ?)")
	if err != nil {
		return nil, 0, err
	}
	take := func(n uint32, page []byte) error {
		for c := range cells(n, page, p.page) {
			if s, ok := c.record(); ok && s.seq >= count.floor {
				if _, err := record.Exec(s.seq, s.session, s.at, s.kind, s.body, s.check); err != nil {
					return err
				}
			} else if s, started, check, ok := c.session(); ok {
				if _, err := session.Exec(s.ID, started, s.Program, s.Rig, s.Print, s.Mount, s.Document, check); err != nil {
					return err
				}
			}
		}
		return nil
	}
	for n := uint32(1); ; n++ {
		page := p.page(n)
		if page == nil && n > p.pages() {
			break
		}
		if err := take(n, page); err != nil {
			return nil, 0, err
		}
	}
	// What the log holds besides: frames behind a damaged one, which SQLite would not read, and older ones.
	for i := range p.log.frames() {
		f := p.log.frame(i)
		if err := take(binary.BigEndian.Uint32(f), f[frameHead:]); err != nil {
			return nil, 0, err
		}
	}
	if r, last, err = tally(tx, count, counted); err != nil {
		return nil, 0, err
	}
	r.Kept = kept
	n := note(time.Now(), "damaged", "the journal was damaged: "+r.String())
	last++
	if _, err := record.Exec(last, 0, n.at.UnixNano(), string(n.kind), string(n.body), sum("record", []int64{last, 0, n.at.UnixNano()}, string(n.kind), string(n.body))); err != nil {
		return nil, 0, err
	}
	return r, last, tx.Commit()
}

// pages is how many pages there are in the file and the log.
func (p *pageFile) pages() uint32 {
	most := uint32(0)
	if p.log != nil {
		for n := range p.log.at {
			most = max(most, n)
		}
	}
	if p.f != nil {
		if info, err := p.f.Stat(); err == nil {
			most = max(most, uint32((info.Size()+pageSize-1)/pageSize))
		}
	}
	return most
}

// tally counts what is there and what should be. Where there was no count it starts one with the first row that is there.
func tally(tx *sql.Tx, count *counter, counted bool) (*Recovery, int64, error) {
	r := &Recovery{AtLeast: !counted}
	var first, last int64
	err := tx.QueryRow("SELECT count(*), coalesce(min(seq), 0), coalesce(max(seq), 0), (SELECT count(*) FROM session) FROM record").
		Scan(&r.Rows, &first, &last, &r.Sessions)
	if err != nil {
		return nil, 0, err
	}
	from := max(count.floor, 1)
	if !counted {
		from = max(first, 1) // what was before may have been taken away by age
		count.floor = from
	}
	end := max(last, count.last)
	if r.Gone = end - from + 1 - r.Rows - count.gone; r.Gone <= 0 {
		r.Gone = 0
		return r, end, nil
	}
	if r.FirstGone, r.LastGone = from, end; r.Rows == 0 {
		return r, end, nil
	}
	if from == first { // the first hole is behind the unbroken stretch at the beginning
		err = tx.QueryRow("SELECT min(seq) + 1 FROM record a WHERE NOT EXISTS (SELECT 1 FROM record b WHERE b.seq = a.seq + 1)").Scan(&r.FirstGone)
	}
	if end == last && err == nil { // the last one is before that at the end
		err = tx.QueryRow("SELECT max(seq) - 1 FROM record a WHERE NOT EXISTS (SELECT 1 FROM record b WHERE b.seq = a.seq - 1)").Scan(&r.LastGone)
	}
	return r, end, err
}

// swap puts the new file into the place of the old one, whose files get another name first. A power cut in between leaves the
// old one under its new name and the count, by which the next start sees that the journal is missing.
func swap(path, part string, r *Recovery, c counter) error {
	for _, end := range []string{"-wal", ""} {
		if r.Kept == "" {
			break
		}
		if err := os.Rename(path+end, r.Kept+end); err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	if err := os.Remove(path + "-shm"); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if err := settle(part, path); err != nil {
		return err
	}
	count, err := openCounter(path)
	if err != nil {
		return err
	}
	count.floor, count.last, count.gone = c.floor, c.last, c.gone
	err = errors.Join(count.write(true), count.close())
	syncDir(filepath.Dir(path))
	return err
}
