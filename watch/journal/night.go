package journal

import (
	"context"
	"iter"
	"time"
)

// nightEnds is how far the rows of a night may lie outside of what Nights says: 64 rows of the slowest watch, and to spare.
const nightEnds = 5 * time.Minute

// Night yields the rows of one night that Nights has listed, by the same evening, in the order in which they were written.
func (r *Reader) Night(ctx context.Context, n Night, evening func(time.Time) (string, error)) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		for row, err := range r.Records(ctx, n.From.Add(-nightEnds), n.To.Add(nightEnds)) {
			if err == nil {
				var date string
				if date, err = evening(row.At); err == nil && date != n.Evening {
					continue
				}
			}
			if !yield(row, err) || err != nil {
				return
			}
		}
	}
}
