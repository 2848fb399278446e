package journal

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Census is what Check counted.
type Census struct {
	Sessions int   `json:"sessions"`
	Rows     int64 `json:"rows"` // that are as they were written
	Gone     int64 `json:"gone"` // rows that were acknowledged and are not there; 0 where the count of rows is gone itself
	Counted  bool  `json:"counted"`
}

// Check reads a journal from end to end and changes nothing; a watch may be writing to it. The error is ErrDamaged when a row, a
// session or the file is not what was written, or rows are missing; with it the census is what was read until then.
func Check(ctx context.Context, path string) (c Census, err error) {
	before, counted := readCounter(path)
	c.Counted = counted
	r, err := OpenReader(path)
	if err != nil {
		return c, errors.Join(err, sound(path))
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	sessions, err := r.Sessions(ctx)
	c.Sessions = len(sessions)
	if err != nil {
		return c, err
	}
	for _, err := range r.Records(ctx, time.Time{}, time.Time{}) {
		if err != nil {
			return c, err
		}
		c.Rows++
	}
	// What was written by then less what has become too old since.
	after, still := readCounter(path)
	if counted && still {
		c.Gone = max(0, before.last-max(after.floor, 1)+1-before.gone-c.Rows)
	}
	if c.Gone > 0 {
		return c, fmt.Errorf("%w: %s lacks %d rows of those that were written", ErrDamaged, path, c.Gone)
	}
	return c, nil
}
