package sky

import (
	"math"
	"time"

	"legroom/axes"
	"legroom/rig"
)

// Window is a stretch of time, From < To.
type Window struct{ From, To time.Time }

// Length returns the time from its start to its end.
func (w Window) Length() time.Duration { return w.To.Sub(w.From) }

// Condition tells whether something holds at t, and how long after t that is certain not to change (0 where nothing is
// certain). Windows relies on the second answer, so it must come from a bound on how fast things move.
type Condition func(t time.Time) (holds bool, certain time.Duration)

const (
	// Resolution is the length below which a window, or a break in one, may go unseen. Longer ones cannot.
	Resolution = time.Second
	// sharp is how finely the ends of windows are found.
	sharp = 10 * time.Millisecond
)

// Windows returns when c holds between two moments, in order. It advances by what c is certain of, and by Resolution at
// least, so that no window longer than Resolution is missed, however short or grazing; the ends are bisected to 10 ms. A
// window that begins before from, or ends after to, is cut there.
func Windows(c Condition, from, to time.Time) []Window {
	var out []Window
	if !from.Before(to) {
		return nil
	}
	t := from
	holds, certain := c(t)
	start := from
	for t.Before(to) {
		next := t.Add(max(certain, Resolution))
		if next.After(to) {
			next = to
		}
		now, more := c(next)
		if now != holds {
			edge := bisect(c, t, next, holds)
			if holds {
				out = append(out, Window{start, edge})
			}
			start = edge
		}
		t, holds, certain = next, now, more
	}
	if holds && start.Before(to) {
		out = append(out, Window{start, to})
	}
	return out
}

// bisect returns the moment between a, where c is was, and b, where it isn't.
func bisect(c Condition, a, b time.Time, was bool) time.Time {
	for b.Sub(a) > sharp {
		m := a.Add(b.Sub(a) / 2)
		if now, _ := c(m); now == was {
			a = m
		} else {
			b = m
		}
	}
	return a.Add(b.Sub(a) / 2)
}

// Not holds when c doesn't.
func Not(c Condition) Condition {
	return func(t time.Time) (bool, time.Duration) {
		h, d := c(t)
		return !h, d
	}
}

// All holds when every one of cs does.
func All(cs ...Condition) Condition {
	return func(t time.Time) (bool, time.Duration) {
		least, broken := time.Duration(math.MaxInt64), time.Duration(-1)
		for _, c := range cs {
			if h, d := c(t); h {
				least = min(least, d)
			} else {
				broken = max(broken, d)
			}
		}
		if broken >= 0 {
			return false, broken
		}
		return true, least
	}
}

// Any holds when one of cs does.
func Any(cs ...Condition) Condition {
	no := make([]Condition, len(cs))
	for i, c := range cs {
		no[i] = Not(c)
	}
	return Not(All(no...))
}

// Within holds inside the windows.
func Within(ws []Window) Condition {
	return func(t time.Time) (bool, time.Duration) {
		certain := time.Duration(math.MaxInt64)
		for _, w := range ws {
			if !t.Before(w.From) && t.Before(w.To) {
				return true, w.To.Sub(t)
			}
			if t.Before(w.From) {
				certain = min(certain, w.From.Sub(t))
			}
		}
		return false, certain
	}
}

// AtLeast holds while f ≥ level. The rate bounds how fast f changes, in its units a second.
func AtLeast(f func(time.Time) float64, level, rate float64) Condition {
	return func(t time.Time) (bool, time.Duration) {
		d := f(t) - level
		return d >= 0, hold(math.Abs(d), rate)
	}
}

// hold returns how long a quantity stays away from a level that is d off, at no more than a rate; a day at most, and no time at
// all for what is no number.
func hold(d, rate float64) time.Duration {
	if math.IsNaN(d) || math.IsNaN(rate) {
		return 0
	}
	if !(d < rate*daySeconds) {
		return 24 * time.Hour
	}
	return seconds(d / rate)
}

// altitudeRate bounds the altitude's rate for a body that moves among the stars by no more than own: ω·cosφ for the turning
// of the Earth.
func (s Site) altitudeRate(own float64) float64 { return SiderealRate*math.Cos(s.Lat) + own }

// SunAbove holds while the Sun's centre is at or above an altitude.
func (s Site) SunAbove(alt float64) Condition {
	return AtLeast(s.SunAltitude, alt, s.altitudeRate(sunRate))
}

// MoonAbove holds while the Moon's centre is at or above an altitude. The parallax adds up to 1/55 to the turning.
func (s Site) MoonAbove(alt float64) Condition {
	return AtLeast(s.MoonAltitude, alt, s.altitudeRate(moonRate)*(1+1./50))
}

// Above holds while the track is at or above an altitude.
func (k Track) Above(alt float64) Condition {
	rate := k.Site.altitudeRate(0)
	return AtLeast(func(t time.Time) float64 { h, _ := k.AltAz(t); return h }, alt, max(rate, 1e-3*arcsec))
}

// AboveHorizon holds while the track stands at or above the site's horizon profile.
func (k Track) AboveHorizon() Condition {
	h := k.Site.Horizon
	below := make(rig.Horizon, len(h)) // upside down, so that its least is the greatest
	lo, hi := 0.0, 0.0
	for i, p := range h {
		below[i] = [2]float64{p[0], -p[1]}
		if i == 0 {
			lo, hi = p[1], p[1]
		}
		lo, hi = min(lo, p[1]), max(hi, p[1])
	}
	lo, hi = axes.Rad(lo), axes.Rad(hi)
	up := max(k.Site.altitudeRate(0), 1e-3*arcsec)
	across := SiderealRate * math.Cos(k.Place.Dec)
	return func(t time.Time) (bool, time.Duration) {
		alt, az := k.AltAz(t)
		holds := alt >= axes.Rad(h.Altitude(axes.Deg(az)))
		if alt > hi {
			return holds, hold(alt-hi, up)
		}
		if alt < lo {
			return holds, hold(lo-alt, up)
		}
		if lo == hi {
			return holds, 0
		}
		// Within d the track stays inside a box of altitude and azimuth: halve d until the profile stays on one side of it.
		for d := 32 * time.Minute; d > Resolution; d /= 2 {
			da := up * d.Seconds()
			top := max(math.Abs(alt+da), math.Abs(alt-da))
			if top > axes.Rad(89) {
				continue
			}
			dz := axes.Deg(across * d.Seconds() / math.Cos(top))
			if dz > 170 {
				continue
			}
			from, to := axes.Deg(az)-dz, axes.Deg(az)+dz
			if holds && alt-da >= axes.Rad(-below.Least(from, to)) || !holds && alt+da < axes.Rad(h.Least(from, to)) {
				return holds, d
			}
		}
		return holds, 0
	}
}

// transits returns the moments in [from, to) at which an hour angle (radians, growing by about rate a second, never back)
// is 0.
func transits(hour func(time.Time) float64, rate float64, from, to time.Time) []time.Time {
	var out []time.Time
	period := 2 * math.Pi / rate
	first := from.Add(seconds(-axes.Wrap(hour(from)) / rate))
	for n := -1; ; n++ {
		t := first.Add(seconds(float64(n) * period))
		for range 20 {
			step := seconds(-axes.Wrap(hour(t)) / rate)
			t = t.Add(step)
			if step.Abs() < time.Millisecond {
				break
			}
		}
		if !t.Before(to) {
			return out
		}
		if !t.Before(from) {
			out = append(out, t)
		}
	}
}

// Mean rates of hour angle, radians a second: a day for the Sun, 24 h 50.47 min for the Moon.
const (
	sunHourRate  = 2 * math.Pi / daySeconds
	moonHourRate = 2 * math.Pi / (daySeconds * 1.0350501)
)

// Transits returns when the track crosses the upper meridian in [from, to).
func (k Track) Transits(from, to time.Time) []time.Time {
	return transits(k.HourAngle, SiderealRate, from, to)
}

// SunTransits returns when the Sun crosses the upper meridian in [from, to).
func (s Site) SunTransits(from, to time.Time) []time.Time {
	return transits(func(t time.Time) float64 { in := at(t); return s.hourAngle(in, sun(in.jd)) }, sunHourRate, from, to)
}

// MoonTransits returns when the Moon crosses the upper meridian in [from, to). Parallax acts along the meridian then, and
// does not matter.
func (s Site) MoonTransits(from, to time.Time) []time.Time {
	return transits(func(t time.Time) float64 { in := at(t); e, _ := moon(in); return s.hourAngle(in, e) }, moonHourRate, from, to)
}
