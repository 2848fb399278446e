package watch

import (
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
)

// Readings that come and cannot be used are silence: a slew that went to the other side under them is not followed, and what the driver
// says of the side then is worth nothing. So is any silence in which a mount could come to either side, however short: until the owner has
// looked, the watch is blind.
func TestUnusableIsSilence(t *testing.T) {
	for _, c := range []struct {
		name   string
		silent func(*bench)
		rate   float64 // °/s
		gone   time.Duration
	}{
		{"unknown equinox", func(b *bench) { b.change = func(r *mount.Reading) { r.Equinox = mount.UnknownEquinox } }, 3, 90 * time.Second},
		{"answers of no use", func(b *bench) { b.broken = mount.ErrAnswer }, 3, 90 * time.Second},
		{"a fast mount, for nine seconds", func(b *bench) { b.broken = mount.ErrAnswer }, 20, 9 * time.Second},
	} {
		for _, told := range []bool{true, false} {
			b := ready(t, deg(60, 45), func(_ *Options, y *toy) {
				r := axes.Rad(c.rate)
				y.rate, y.accel, y.brake = rates{r, r}, r, r
			})
			b.w.o.Blind = AlarmBlind
			b.w.f.slew = rates{axes.Rad(1.3 * c.rate), axes.Rad(1.3 * c.rate)} // as a document would say
			b.begin(deg(-60, -45))
			b.steps(3)
			c.silent(b)
			b.until(c.gone, func() bool { return false })
			b.broken = nil
			b.change = func(r *mount.Reading) { r.Side, r.SideSaid = axes.West, told } // a driver that has forgotten
			b.steps(30)
			if s := b.w.Status(); !seen(b, BlindReference) || s.Proven() != nil {
				t.Errorf("%s, a side is told %v: truly at %.1f°, %.1f°, blind %v, side %s by %s", c.name, told, axes.Deg(b.at.RA), axes.Deg(b.at.Dec),
					s.Blind, s.Sample.Side, s.Sample.SideHow)
			}
			b.change = nil
			b.steps(1)
			if err := b.w.ConfirmReference(axes.East); err != nil {
				t.Fatalf("%s: %v", c.name, err)
			}
			b.steps(2)
			if s := b.w.Status(); len(s.Blind) > 0 || s.Sample.Side != "east" {
				t.Errorf("%s: confirmed, and blind %v, side %s", c.name, s.BlindWhy, s.Sample.Side)
			}
		}
	}
}
