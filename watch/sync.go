package watch

import (
	"math"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// syncs sums up, signed for each axis, how far the syncs that were let through since the reference pose was confirmed have taken the
// place from where the axes were. What nobody knows the mount to have taken leaves more than one sum open. The zero value is
// none.
type syncs struct {
	from, to axes.Angles // the sums that may be
	before   *syncs      // without the last one, while its answer is waited for
	last     axes.Angles
}

// with is the sums with one more sync, which was taken or not.
func (s syncs) with(d axes.Angles) syncs {
	was := s
	was.before = nil
	return syncs{
		from:   axes.Angles{RA: s.from.RA + math.Min(0, d.RA), Dec: s.from.Dec + math.Min(0, d.Dec)},
		to:     axes.Angles{RA: s.to.RA + math.Max(0, d.RA), Dec: s.to.Dec + math.Max(0, d.Dec)},
		before: &was, last: d,
	}
}

// after is the sums that may be once the mount has taken one more sync, at their largest: an angle of each axis.
func (s syncs) after(d axes.Angles) axes.Angles {
	return axes.Angles{RA: math.Max(math.Abs(s.from.RA+d.RA), math.Abs(s.to.RA+d.RA)),
		Dec: math.Max(math.Abs(s.from.Dec+d.Dec), math.Abs(s.to.Dec+d.Dec))}
}

// AdmitSync tells whether the mount may be told that it points to a place of date: one that puts neither axis further away than a degree,
// and that the syncs since the reference pose was confirmed do not add up to more, those that cancel each other taken together.
// SyncTaken is to be told how it ended, where that is known.
func (w *Watch) AdmitSync(to sky.Equatorial) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.o.Clock.Now()
	f, err := w.ready(now)
	if err != nil {
		return err
	}
	at := w.p.g.Model.Head.Angles(axes.Pose{Side: f.side, HourAngle: w.hourOf(to, f, now), Dec: to.Dec})
	gone := 0.0 // by tracking, since the reading: small, and much in a night of many
	if f.r.Tracking != mount.No {
		gone = sky.SiderealRate * now.Sub(f.r.Got).Seconds()
	}
	d := axes.Angles{RA: axes.Wrap(at.RA - f.at.RA - gone), Dec: axes.Wrap(at.Dec - f.at.Dec)}
	// Not: > 1°, so that what is no number is refused. Near the pole a small sync on the sky turns the RA axis far.
	if !(math.Abs(d.RA) <= jump && math.Abs(d.Dec) <= jump) {
		return refuse("room", "a sync that takes the RA axis for %.2f° and the declination axis for %.2f° from where they are: more than 1° is no correction, the rig may stand elsewhere than it seems",
			axes.Deg(math.Abs(d.RA)), axes.Deg(math.Abs(d.Dec)))
	}
	if sum := w.syncs.after(d); !(math.Hypot(sum.RA, sum.Dec) <= jump) {
		return refuse("room", "with this sync those since the reference was confirmed come to %.2f° (RA axis), %.2f° (declination axis), more than 1°: "+
			"confirm the reference pose first", axes.Deg(sum.RA), axes.Deg(sum.Dec))
	}
	w.syncs = w.syncs.with(d)
	return nil
}

// SyncTaken says whether the mount took the sync that was let through last.
func (w *Watch) SyncTaken(took bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.syncs.before == nil {
		return
	}
	d := w.syncs.last
	w.syncs = *w.syncs.before
	if took {
		w.syncs.from = axes.Angles{RA: w.syncs.from.RA + d.RA, Dec: w.syncs.from.Dec + d.Dec}
		w.syncs.to = axes.Angles{RA: w.syncs.to.RA + d.RA, Dec: w.syncs.to.Dec + d.Dec}
	}
}
