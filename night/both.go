package night

import (
	"context"
	"sync"
	"time"

	"legroom/room"
	"legroom/sky"
)

// Both plans one night twice, side by side: as asked for, and with the other kind of limits (Options.TwoNumber turned round), so that
// the difference can be shown.
func Both(ctx context.Context, m *room.Map, site sky.Site, date time.Time, targets []sky.Target, o Options) (asked, other *Plan, err error) {
	var both sync.WaitGroup
	var failed error
	both.Go(func() {
		o := o
		o.TwoNumber = !o.TwoNumber
		other, failed = New(ctx, m, site, date, targets, o)
	})
	asked, err = New(ctx, m, site, date, targets, o)
	both.Wait()
	if err == nil {
		err = failed
	}
	return asked, other, err
}
