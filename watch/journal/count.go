package journal

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
)

// counter is the small file beside the database that says which rows it should hold. It is written after each commit, in place,
// and not synced: when the program dies it is right, after a power cut it may be some rows behind, and it is never ahead of
// what was committed. SQLite itself takes a log that was cut off for one that ends there; the count tells the difference.
type counter struct {
	f           *os.File
	floor, last int64 // rows from floor to last should be there; a floor of 0 is one of 1
	gone        int64 // less these, that an earlier recovery missed
}

const countSize = 32 // floor, last, gone, checksum over them with the name of the format

func countName(path string) string { return path + "-count" }

func (c *counter) bytes() []byte {
	b := binary.BigEndian.AppendUint64(nil, uint64(c.floor))
	b = binary.BigEndian.AppendUint64(b, uint64(c.last))
	b = binary.BigEndian.AppendUint64(b, uint64(c.gone))
	return binary.BigEndian.AppendUint64(b, uint64(sum("count 1", []int64{c.floor, c.last, c.gone})))
}

// readCounter reads the count of a journal. false: there is none, or none that can be believed.
func readCounter(path string) (counter, bool) {
	b, err := os.ReadFile(countName(path))
	if err != nil || len(b) != countSize {
		return counter{}, false
	}
	c := counter{floor: int64(binary.BigEndian.Uint64(b)), last: int64(binary.BigEndian.Uint64(b[8:])), gone: int64(binary.BigEndian.Uint64(b[16:]))}
	return c, string(c.bytes()) == string(b)
}

func openCounter(path string) (*counter, error) {
	c, _ := readCounter(path)
	f, err := os.OpenFile(countName(path), os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, fmt.Errorf("the count of rows: %w", err)
	}
	c.f = f
	return &c, nil
}

// write puts the count into its file, and onto the disk when sync is set.
func (c *counter) write(sync bool) error {
	if _, err := c.f.WriteAt(c.bytes(), 0); err != nil {
		return fmt.Errorf("the count of rows: %w", err)
	}
	if sync {
		if err := c.f.Sync(); err != nil {
			return fmt.Errorf("the count of rows: %w", err)
		}
	}
	return nil
}

func (c *counter) close() error { return c.f.Close() }

// sound looks whether a file that an earlier program left may be written on: whether it is a database at all, as long as it says,
// and whether its newest row is there. It changes nothing. What is wrong in the middle shows when it is read.
func sound(path string) error {
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		if c, ok := readCounter(path); ok && c.last > 0 {
			return fmt.Errorf("%w: %s is gone, and its %d rows with it", ErrDamaged, path, c.last-max(c.floor, 1)+1-c.gone)
		}
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if !info.Mode().IsRegular() {
		return fmt.Errorf("%s is not a file: give the name of a journal, or of a new file", path)
	}
	log, err := readLog(path)
	if err != nil {
		return err
	}
	c, counted := readCounter(path)
	if info.Size() == 0 && log == nil && !counted {
		return nil // made, and not yet begun
	}
	head := make([]byte, 100)
	if _, err := io.ReadFull(f, head); err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return err
	}
	if p := log.page(1); p != nil {
		head = p[:100]
	}
	if string(head[:16]) != magic {
		if !counted && info.Size() > 0 && log == nil {
			return fmt.Errorf("%w: %s: give the name of a journal, or of a new file", ErrForeign, path)
		}
		return fmt.Errorf("%w: %s does not begin like a database", ErrDamaged, path)
	}
	// How long the file says that it is stands in its head. A page that is in the log need not be in the file yet.
	pages := int64(binary.BigEndian.Uint32(head[28:]))
	for n := info.Size()/pageSize + 1; n <= pages; n++ {
		if log.page(uint32(n)) == nil {
			return fmt.Errorf("%w: %s is cut off: %d bytes of %d", ErrDamaged, path, info.Size(), pages*pageSize)
		}
	}
	if !counted || log.newest() >= c.last {
		return nil
	}
	db, err := connect(path, "", "immutable") // without the log, and without a lock
	if err != nil {
		return err
	}
	defer db.Close()
	var newest int64
	if err := db.QueryRow("SELECT coalesce(max(seq), 0) FROM record").Scan(&newest); err != nil {
		return fmt.Errorf("%w: %s: %w", ErrDamaged, path, err)
	}
	if newest = max(newest, log.newest()); newest < c.last {
		return fmt.Errorf("%w: %s ends with row %d, and %d were written", ErrDamaged, path, newest, c.last)
	}
	return nil
}
