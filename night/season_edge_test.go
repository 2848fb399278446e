package night

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

func season(t testing.TB, m *room.Map, site sky.Site, year int, month time.Month, months int, targets []sky.Target, o Options) *Season {
	t.Helper()
	s, err := NewSeason(context.Background(), m, site, year, month, months, targets, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	addsUp(t, s)
	return s
}

// addsUp checks what must hold of every season: causes add up to the sky's hours, months to the whole, targets to the total, and the
// two numbers never give more.
func addsUp(t testing.TB, s *Season) {
	t.Helper()
	check := func(what string, h Hours) {
		for _, l := range []Limited{h.By, h.Two} {
			if l.Hours+l.NoWay+l.Flip+l.Idle+l.NoRoom != h.Sky || min(l.Hours, l.NoWay, l.Flip, l.Idle, l.NoRoom) < 0 || l.Nights > h.Nights {
				t.Errorf("%s: %+v do not make %v of sky in %d nights", what, l, h.Sky, h.Nights)
			}
		}
		// Each end of a band's run is proven to 1.2 s, in cells that the travel shifts.
		if h.Two.Usable() > h.By.Usable()+time.Duration(h.Nights+1)*5*time.Second {
			t.Errorf("%s: %v usable within the two numbers, %v within limits by declination", what, h.Two.Usable(), h.By.Usable())
		}
	}
	var total Hours
	for i := range s.Targets {
		g := &s.Targets[i]
		var sum Hours
		for k, h := range g.Months {
			check(g.Name, h)
			sum.Add(h)
			if h.Sky > s.Months[k].Dark || h.Nights > s.Months[k].Nights {
				t.Errorf("%s: more sky than darkness in month %d", g.Name, k)
			}
			if g.Best >= 0 && h.By.Hours > g.Months[g.Best].By.Hours {
				t.Errorf("%s: month %d has more hours than the best, %d", g.Name, k, g.Best)
			}
		}
		if sum != g.All || (g.Best < 0) != (sum.By.Hours == 0) {
			t.Errorf("%s: %+v in all, its months make %+v; best month %d", g.Name, g.All, sum, g.Best)
		}
		total.Add(g.All)
	}
	if total != s.Total.All {
		t.Errorf("the targets make %+v, the total says %+v", total, s.Total.All)
	}
}

func named(name string, raDeg, decDeg float64) sky.Target {
	return sky.Target{Name: name, Place: sky.J2000{RA: axes.Rad(raDeg), Dec: axes.Rad(decDeg)}}
}

// Places where the sky does something else, and both hemispheres: pole, polar circle, equator.
func TestSeasonElsewhere(t *testing.T) {
	targets := []sky.Target{named("north", 30, 80), named("middle", 120, 20), named("south", 250, -70), named("pole", 0, 89.9)}
	for _, lat := range []float64{90, 78.2, 66.6, 0, -23, -66.6, -90} {
		m, site := seasonMap(t, "karoo-newtonian", func(r *rig.Rig) {
			r.Site.LatitudeDeg, r.Site.Horizon = lat, nil
			r.Mount.PolarAxis.AltitudeDeg.Value = math.Abs(lat)
		})
		s := season(t, m, site, 2026, time.January, 12, targets, Options{})
		up := func(i int) bool { return s.Targets[i].All.Sky > 0 }
		if up(0) != (lat > -10) || up(2) != (lat < 20) {
			t.Errorf("latitude %v: north up %v, south up %v", lat, up(0), up(2))
		}
		for i := range s.Targets {
			if g := &s.Targets[i]; g.Rises != (g.All.Sky > 0) {
				t.Errorf("latitude %v, %s: rises %v, with %v of sky in a year", lat, g.Name, g.Rises, g.All.Sky)
			}
		}
		dark, nights := time.Duration(0), 0
		for _, k := range s.Months {
			dark, nights = dark+k.Dark, nights+k.Nights
		}
		if nights != 365 {
			t.Errorf("latitude %v: %d nights in 2026", lat, nights)
		}
		june, december := s.Months[5].Dark, s.Months[11].Dark
		switch {
		case lat > 60 && (june != 0 || december == 0), lat < -60 && (june == 0 || december != 0):
			t.Errorf("latitude %v: %v dark in June, %v in December", lat, june, december)
		case math.Abs(lat) == 90:
			// The Sun is 18° below for about 79 days (declination beyond ±18°, counted off an almanac [mem]: 13 November to 29 January).
			if d := dark.Hours() / 24; d < 75 || d > 83 {
				t.Errorf("latitude %v: %v days of darkness", lat, d)
			}
			// Nothing rises or sets: what is up is up in all of the darkness.
			for i := range s.Targets {
				if g := &s.Targets[i]; up(i) && (g.All.Sky-dark).Abs() > time.Minute {
					t.Errorf("latitude %v, %s: %v of sky in %v of darkness", lat, g.Name, g.All.Sky, dark)
				}
			}
		}
	}
}

// A season is its nights: a leap day counts, a year's end and a change of the clocks change nothing, and a date that a zone skips is
// no night.
func TestSeasonCalendar(t *testing.T) {
	m, site := seasonMap(t, "terrace-long-refractor", nil)
	targets := []sky.Target{named("middle", 83, 20), named("high", 200, 60)}
	for _, c := range []struct {
		year   int
		month  time.Month
		nights int
	}{{2028, time.February, 29}, {2027, time.February, 28}, {2026, time.March, 31}, {2026, time.October, 31}, {2000, time.February, 29}} {
		if s := season(t, m, site, c.year, c.month, 1, targets, Options{}); s.Months[0].Nights != c.nights {
			t.Errorf("%v %d: %d nights, want %d", c.month, c.year, s.Months[0].Nights, c.nights)
		}
	}
	whole := season(t, m, site, 2026, time.November, 4, targets, Options{})
	for k, want := range []Month{
		{Year: 2026, Month: time.November}, {Year: 2026, Month: time.December}, {Year: 2027, Month: time.January}, {Year: 2027, Month: time.February},
	} {
		if got := whole.Months[k]; got.Year != want.Year || got.Month != want.Month {
			t.Errorf("month %d is %v %d, want %v %d", k, got.Month, got.Year, want.Month, want.Year)
		}
		one := season(t, m, site, want.Year, want.Month, 1, targets, Options{})
		for i := range targets {
			a, b := whole.Targets[i].Months[k], one.Targets[i].All
			// The band of four months is wider by some arc seconds, and each end of a run is proven to 1.2 s.
			if a.Sky != b.Sky || b.By.Usable()-a.By.Usable() > time.Minute || a.By.Usable() > b.By.Usable()+time.Minute {
				t.Errorf("%v, %s: %+v in a season of four months, %+v in one of its own", want.Month, targets[i].Name, a, b)
			}
		}
	}
	// The same place by a clock that never changes: the same moments, but for the summer half year's dates, which do not change either.
	utc := site
	utc.Zone = time.UTC
	a := season(t, m, site, 2026, time.March, 1, targets, Options{})
	b := season(t, m, utc, 2026, time.March, 1, targets, Options{})
	if d := (a.Total.All.Sky - b.Total.All.Sky).Abs(); d > time.Second {
		t.Errorf("a change of the clocks moves %v", d)
	}
	for _, c := range []struct {
		zone   string
		lonDeg float64
		nights int
	}{{"Pacific/Apia", -171.8, 30}, {"Europe/Madrid", -3.1, 31}, {"Pacific/Kiritimati", -157.4, 31}} {
		there := site
		var err error
		if there.Zone, err = sky.LoadZone(c.zone); err != nil {
			t.Fatal(err)
		}
		there.Lon = axes.Rad(c.lonDeg)
		s := &Season{}
		var last sky.Night
		dates := s.dates(there, 2011, time.December, 1)
		if len(dates) != c.nights {
			t.Errorf("%s: %d nights in December 2011, want %d", c.zone, len(dates), c.nights)
		}
		for _, d := range dates {
			n, err := sky.NightOf(there, d.Year(), d.Month(), d.Day())
			if err != nil {
				t.Fatal(err)
			}
			if !last.Noon.IsZero() && last.NextNoon.Sub(n.Noon).Abs() > 10*time.Millisecond {
				t.Errorf("%s: the night of %v begins at %v, the one before ends at %v", c.zone, d, n.Noon, last.NextNoon)
			}
			last = n
		}
	}
}

// What cannot be had is none, not an error: a target that never rises, a rig without room.
func TestSeasonOfNothing(t *testing.T) {
	m, site := seasonMap(t, "terrace-long-refractor", func(r *rig.Rig) { r.MarginMM.Value = 5000 })
	s := season(t, m, site, 2026, time.November, 2, []sky.Target{named("never up", 10, -80), named("up", 60, 30)}, Options{})
	if g := s.Targets[0]; g.Rises || g.All != (Hours{}) || g.Best != -1 {
		t.Errorf("never up: %+v", g)
	}
	if g := s.Targets[1]; !g.Rises || g.All.Sky == 0 || g.All.By.Hours != 0 || g.All.By.NoRoom != g.All.Sky || g.Best != -1 {
		t.Errorf("no room: %+v", g)
	}
	ctx, one := context.Background(), []sky.Target{named("up", 60, 30)}
	for _, c := range []struct {
		targets []sky.Target
		months  int
		o       Options
	}{
		{nil, 1, Options{}}, {make([]sky.Target, MaxTargets+1), 1, Options{}}, {one, 0, Options{}}, {one, MaxMonths + 1, Options{}}, {one, 1, Options{MinAltitude: math.NaN()}},
	} {
		if _, err := NewSeason(ctx, m, site, 2026, time.November, c.months, c.targets, c.o, nil); err == nil {
			t.Errorf("%+v is accepted", c)
		}
	}
}

// A mount that may take either side has only what is free on both, and changes nothing.
func TestSeasonOfAnUnknownSide(t *testing.T) {
	targets := seasonTargets(rand.New(rand.NewPCG(3, 3)), 6)
	told, site := seasonMap(t, "terrace-long-refractor", func(r *rig.Rig) { r.Mount.Rules.SideChoice = "as_told" })
	open, _ := seasonMap(t, "terrace-long-refractor", func(r *rig.Rig) { r.Mount.Rules.SideChoice = "unknown" })
	a := season(t, told, site, 2026, time.November, 2, targets, Options{})
	b := season(t, open, site, 2026, time.November, 2, targets, Options{})
	for i := range targets {
		x, y := a.Targets[i].All, b.Targets[i].All
		if x.Sky != y.Sky || y.By.Flip != 0 || y.By.Hours > x.By.Usable() {
			t.Errorf("%s: %+v when told, %+v when open", targets[i].Name, x, y)
		}
	}
	if b.Total.All.By.Hours >= a.Total.All.By.Hours {
		t.Errorf("an unknown side costs nothing: %v against %v", b.Total.All.By.Hours, a.Total.All.By.Hours)
	}
}

// A park position that is not free leaves a season nothing either, and it is lost for want of a way there: the plan of
// TestParkThatIsNotFree.
func TestSeasonWithoutAWayFromPark(t *testing.T) {
	r, site := siteAt(t, "karoo-newtonian", "0", "30", "Africa/Kampala")
	m := mapOf(t, gaugeOf(t, r, rig.RSS), 0.25)
	h := season(t, m, site, 2026, time.May, 1, []sky.Target{named("a", 200, 30)}, Options{}).Targets[0].All
	if h.By.Hours != 0 || h.By.NoWay == 0 || h.By.Nights != 0 {
		t.Errorf("%+v", h)
	}
}

func TestSeasonStops(t *testing.T) {
	m, site := seasonMap(t, "karoo-newtonian", nil)
	targets := seasonTargets(rand.New(rand.NewPCG(1, 1)), 20)
	ctx, cancel := context.WithCancel(context.Background())
	calls, last := 0, 0.0
	_, err := NewSeason(ctx, m, site, 2026, time.November, 12, targets, Options{}, func(done float64) {
		if calls++; calls == 40 {
			cancel()
		}
		last = max(last, done)
	})
	if !errors.Is(err, context.Canceled) || last > 0.5 {
		t.Errorf("stopped at %v with %v", last, err)
	}
}

// The same question has the same answer, on one processor or on many.
func TestSeasonIsDeterministic(t *testing.T) {
	m, site := seasonMap(t, "terrace-long-refractor", nil)
	targets := seasonTargets(rand.New(rand.NewPCG(5, 5)), 8)
	o := Options{MoonApart: axes.Rad(45)}
	a := season(t, m, site, 2026, time.December, 2, targets, o)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if b := season(t, m, site, 2026, time.December, 2, targets, o); !reflect.DeepEqual(a, b) {
		t.Error("one processor gives another season")
	}
}

// The band of a season holds the declination of every hour of it, and halfOf to each side but for what the declination changes
// within half a day, for which halfOf stands: less than 1″ and half a day of proper motion.
func TestSeasonBandHoldsEveryHour(t *testing.T) {
	const seed = 11
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	_, site := seasonMap(t, "karoo-newtonian", nil)
	targets := seasonTargets(rnd, 20)
	targets = append(targets, named("north pole", 0, 90), named("south pole", 0, -90))
	fast := named("fast", 269.5, 4.7) // 10.4″ a year, as fast as any star
	fast.Place.PMDec = axes.Rad(10.4 / 3600)
	wide := named("mosaic", 10, 41)
	wide.Extent = axes.Rad(1.5)
	targets = append(targets, fast, wide)
	o := Options{}
	if err := o.fill(); err != nil {
		t.Fatal(err)
	}
	overshoot := axes.Rad(1)
	s := &Season{Options: o}
	dates := s.dates(site, 2026, time.November, 12)
	evenings := make([]evening, len(dates))
	for i := range evenings {
		if err := evenings[i].begin(site, dates[i], targets, o); err != nil {
			t.Fatal(err)
		}
	}
	s.bands(targets, evenings, overshoot)
	for range 4000 {
		e := &evenings[rnd.IntN(len(evenings))]
		n := e.night
		at := n.Noon.Add(time.Duration(rnd.Float64() * float64(n.NextNoon.Sub(n.Noon))))
		i := rnd.IntN(len(targets))
		g := &s.Targets[i]
		midnight, now := e.apparent[i].Dec, targets[i].Place.Apparent(at).Dec
		if off := math.Abs(now - midnight); off > axes.Rad(1.0/3600) {
			t.Errorf("%s: the declination changes by %.2f″ in half a day", g.Name, axes.Deg(off)*3600)
		}
		lo, hi := max(midnight-halfOf(g.Target, overshoot), -math.Pi/2), min(midnight+halfOf(g.Target, overshoot), math.Pi/2)
		if g.DecFrom > lo || g.DecTo < hi || axes.Deg(g.DecTo-g.DecFrom) > 2*axes.Deg(halfOf(g.Target, overshoot))+0.03 {
			t.Errorf("%s: the band %.4f…%.4f° does not hold %.4f…%.4f°, or is much wider", g.Name,
				axes.Deg(g.DecFrom), axes.Deg(g.DecTo), axes.Deg(lo), axes.Deg(hi))
		}
	}
}

// The best order of sides against a search by the minute, on random windows and changes.
func TestBestDayAgainstSearch(t *testing.T) {
	const seed = 5
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	zero := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	at := func(m int) time.Time { return zero.Add(time.Duration(m) * time.Minute) }
	const day0 = 240
	for range 400 {
		var d day
		var open [2][day0]bool
		for side := range d {
			var ws []sky.Window
			for range 1 + rnd.IntN(3) {
				from := rnd.IntN(day0 - 1)
				to := from + 1 + rnd.IntN(day0-from-1)
				ws = append(ws, sky.Window{From: at(from), To: at(to)})
				for m := from; m < to; m++ {
					open[side][m] = true
				}
			}
			d[side] = union(ws...)
		}
		// Changes stand one after the other, as a day has them.
		var turns []turned
		for m := rnd.IntN(60); m < day0-40; m += 50 + rnd.IntN(60) {
			long := rnd.IntN(40)
			leave := sky.Window{From: at(m), To: at(m + long)}
			turns = append(turns, turned{axes.Side(rnd.IntN(2)), leave, time.Duration(1+rnd.IntN(30)) * time.Minute})
		}
		// most[side][m]: the most minutes from m on.
		var most [2][day0 + 1]int
		for m := day0 - 1; m >= 0; m-- {
			for side := range most {
				most[side][m] = most[side][m+1]
				if open[side][m] {
					most[side][m]++
				}
			}
			for side := range most {
				for _, c := range turns {
					from, to := int(c.leave.From.Sub(zero).Minutes()), int(c.leave.To.Sub(zero).Minutes())
					if c.from == axes.Side(side) && m >= from && m <= to {
						most[side][m] = max(most[side][m], most[1-side][min(day0, m+int(c.take.Minutes()))])
					}
				}
			}
		}
		for side := range most {
			if got := d.best(axes.Side(side), zero, turns); got != time.Duration(most[side][0])*time.Minute {
				t.Fatalf("side %d: %v, by search %d min\n%+v\n%+v", side, got, most[side][0], d, turns)
			}
		}
	}
}
