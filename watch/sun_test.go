package watch

import (
	"math"
	"testing"
	"time"

	"legroom/axes"
	"legroom/room"
)

// A sunWatch on the test rig, at noon.
func sunny(t *testing.T) (*sunWatch, time.Time) {
	b := newToy(t, theMap(t), deg(0, 90), NewVirtual(evening))
	return &sunWatch{site: b.site, head: &b.model.Head, angle: axes.Rad(30)}, time.Date(2026, 6, 21, 11, 20, 0, 0, time.UTC)
}

func TestSunUp(t *testing.T) {
	s, noon := sunny(t)
	if !s.up(noon) || s.up(evening) {
		t.Error("up at noon, down in the evening")
	}
	s.covered = true
	if s.up(noon) {
		t.Error("a covered tube need not fear the Sun")
	}
}

// The proof over a rectangle against samples: what is called clear has no sample within the angle, and what has none within it
// by a good way is called clear.
func TestSunClear(t *testing.T) {
	s, noon := sunny(t)
	var clear, not int
	for i := range 120 {
		f := func(k float64) float64 { return math.Mod(float64(i+1)*k, 1) }
		r := room.Rect{RAFrom: axes.Rad(-170 + 300*f(0.618)), DecFrom: axes.Rad(-120 + 200*f(0.414))}
		r.RATo, r.DecTo = r.RAFrom+axes.Rad(60*f(0.732)), r.DecFrom+axes.Rad(60*f(0.236))
		least := math.Pi
		for a := 0.0; a <= 1; a += 1. / 32 {
			for b := 0.0; b <= 1; b += 1. / 32 {
				least = math.Min(least, s.separation(axes.Angles{RA: r.RAFrom + a*(r.RATo-r.RAFrom), Dec: r.DecFrom + b*(r.DecTo-r.DecFrom)}, noon))
			}
		}
		got := s.clear(r, noon, time.Minute)
		if got && least < s.angle || !got && least > s.angle+axes.Rad(3) {
			t.Errorf("%v: clear %v, least separation %.1f°", r, got, axes.Deg(least))
		}
		if got {
			clear++
		} else {
			not++
		}
	}
	if clear < 20 || not < 20 {
		t.Errorf("%d clear, %d not: no test", clear, not)
	}
}

// When the Sun meets a tube that stands still: it points where the Sun will be in three hours, so that the Sun comes within
// 30° when 30° of its way are left; along its parallel that is a little more hour angle (sin(ΔH/2)·cos δ = sin 15°).
func TestSunMeets(t *testing.T) {
	s, noon := sunny(t)
	from := noon.Add(-3 * time.Hour)
	sun := s.site.Sun(noon)
	at := s.head.Angles(axes.Pose{Side: axes.West, HourAngle: s.site.HourAngle(noon, sun), Dec: sun.Dec})
	got, ok := s.meets(at, from)
	half := math.Asin(math.Sin(axes.Rad(15)) / math.Cos(sun.Dec))
	want := noon.Add(-time.Duration(axes.Hours(2*half) * float64(time.Hour)))
	if !ok || got.Sub(want).Abs() > 15*time.Second {
		t.Errorf("%v, %v; want %v", got, ok, want)
	}
	if _, ok := s.meets(deg(0, 0), from); ok {
		t.Error("the Sun never comes near the pole")
	}
}

// By day an uncovered tube is stopped on its way to the Sun, and on its way from it is not.
func TestSunStop(t *testing.T) {
	s, noon := sunny(t)
	at := s.head.Angles(axes.Pose{Side: axes.West, HourAngle: s.site.HourAngle(noon, s.site.Sun(noon)), Dec: s.site.Sun(noon).Dec})
	off := func(d float64) axes.Angles { return axes.Angles{RA: at.RA, Dec: at.Dec - axes.Rad(d)} }
	r := rates{dec: axes.Rad(3)}
	for _, c := range []struct {
		from, at   float64
		near, stop bool
	}{{50, 45, false, false}, {40, 35, false, true}, {35, 40, false, false}, {29, 25, true, true}, {25, 29, true, false}} {
		_, near, stop := s.approaching(off(c.from), off(c.at), noon, r, 2*time.Second)
		if near != c.near || stop != c.stop {
			t.Errorf("from %v° to %v°: near %v, stop %v", c.from, c.at, near, stop)
		}
	}
}

// The loop by day: a slew towards the Sun is stopped before it is within the angle, and a proven one is refused; a covered tube slews
// on.
func TestSunInTheLoop(t *testing.T) {
	for _, covered := range []bool{false, true} {
		b := ready(t, deg(30, 60), func(o *Options, y *toy) {
			o.Covered = covered
			y.clk.Advance(16 * time.Hour) // 11 h UT, the Sun near the meridian
			y.when = y.clk.Now()
		})
		s := b.w.sun
		noon := b.clk.Now()
		e := s.site.Sun(noon)
		sun := s.head.Angles(axes.Pose{Side: axes.West, HourAngle: s.site.HourAngle(noon, e), Dec: e.Dec})
		b.at = axes.Angles{RA: sun.RA, Dec: sun.Dec - axes.Rad(75)}
		b.w.f.last, b.w.ob = nil, observer{}
		b.steps(2)
		if err := b.w.ConfirmReference(axes.West); err != nil {
			t.Fatal(err)
		}
		b.steps(1)
		west := axes.West
		pass, err := b.w.AdmitSlew(e, &west)
		if covered == (key(err) == "sun") {
			t.Errorf("covered %v: %v", covered, err)
		}
		if pass != nil {
			pass.Cancel()
		}
		b.begin(sun)
		least := math.Pi
		b.until(time.Minute, func() bool {
			least = math.Min(least, s.separation(b.at, b.clk.Now()))
			return !b.slewing
		})
		st := b.w.Status()
		if stopped := st.Cause == BySun; stopped == covered || !covered && least < axes.Rad(30) || covered && least > axes.Rad(1) {
			t.Errorf("covered %v: %s by %q, down to %.1f°: %s", covered, st.Rung, st.Cause, axes.Deg(least), st.Why)
		}
	}
}
