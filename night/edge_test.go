package night

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

func eveningOf(year int, month time.Month, d int) time.Time {
	return time.Date(year, month, d, 0, 0, 0, 0, time.UTC)
}

// sound judges a plan by brute force, and by what must hold for any.
func sound(t *testing.T, j *judge) *Plan {
	t.Helper()
	for _, f := range append(j.everything(), j.properties()...) {
		t.Error(f)
	}
	if t.Failed() {
		t.Log(j.plan.text())
	}
	return j.plan
}

// at is a place that has an hour angle and a declination of date at a moment, to what precession leaves: brought back by steps.
func at(s sky.Site, t time.Time, hours, decDeg float64) sky.J2000 {
	want := sky.Equatorial{RA: s.SiderealTime(t) - axes.FromHours(hours), Dec: axes.Rad(decDeg)}
	c := sky.J2000{RA: want.RA, Dec: want.Dec}
	for range 50 {
		e := c.Apparent(t)
		c.RA += axes.Wrap(want.RA - e.RA)
		c.Dec = max(-math.Pi/2, min(math.Pi/2, c.Dec+want.Dec-e.Dec))
	}
	return c
}

// nothingNear takes everything out of the way of the short tube: obstacles, horizon and the mount's own rules, on a high pier.
var nothingNear = []string{"support.obstacles", "[]", "support.extension", "{diameter_mm: 90 ± 1, height_mm: 900 ± 1}", "site.horizon", "[]",
	"mount.own_rules.side_choice", "as_told", "mount.own_rules.earliest_flip_min", "null"}

// travelling is nothingNear with so much travel to each side.
func travelling(deg string) []string {
	return append(slices.Clone(nothingNear), "mount.travel.ra_from_deg", "-"+deg, "mount.travel.ra_to_deg", deg)
}

// siteAt is an example rig at another place.
func siteAt(t *testing.T, name, lat, lon, zone string, changes ...string) (*rig.Rig, sky.Site) {
	t.Helper()
	changes = append([]string{"site.latitude_deg", lat, "mount.polar_axis.altitude_deg", strings.TrimPrefix(lat, "-"),
		"site.longitude_deg", lon, "site.time_zone", zone}, changes...)
	r, done := with(loaded(t, name), changes...)
	if 2*len(done) != len(changes) {
		t.Fatalf("of %v only %v make a rig", changes, done)
	}
	s, err := sky.NewSite(r.Site)
	if err != nil {
		t.Fatal(err)
	}
	return r, s
}

func midnightOf(t *testing.T, s sky.Site, d time.Time) time.Time {
	t.Helper()
	n, err := sky.NightOf(s, d.Year(), d.Month(), d.Day())
	if err != nil {
		t.Fatal(err)
	}
	return n.Midnight
}

func noted(p *Plan, what string) bool { return strings.Contains(strings.Join(p.Notes, "\n"), what) }

// A change of the clocks moves no moment and no exposure: the same night in a zone without the change has the same plan.
func TestNightsOfClockChanges(t *testing.T) {
	for _, c := range []struct {
		date time.Time
		zone string
		hour int // how much longer the clock's night is, hours
	}{
		{eveningOf(2026, 3, 28), "Europe/Madrid", -1}, {eveningOf(2026, 10, 24), "Europe/Madrid", 1},
	} {
		r, s := siteAt(t, "terrace-long-refractor", "36.9", "-3.4", c.zone)
		mid := midnightOf(t, s, c.date)
		targets := []sky.Target{{Name: "a", Place: at(s, mid, 0, 40)}, {Name: "b", Place: at(s, mid, -3, 10)}}
		p := sound(t, planned(t, r, c.date, Options{}, targets))
		first, last := p.Schedule.Blocks[0].From, p.Schedule.Blocks[len(p.Schedule.Blocks)-1].To
		_, a := first.Zone()
		_, b := last.Zone()
		if b-a != -c.hour*3600 {
			t.Errorf("%v: the offset goes from %d to %d s", c.date, a, b)
		}
		r, _ = siteAt(t, "terrace-long-refractor", "36.9", "-3.4", "Africa/Algiers")
		q := planned(t, r, c.date, Options{}, targets).plan
		if len(q.Schedule.Blocks) != len(p.Schedule.Blocks) {
			t.Fatalf("%v: %d and %d blocks", c.date, len(p.Schedule.Blocks), len(q.Schedule.Blocks))
		}
		for i := range q.Schedule.Blocks {
			x, y := &p.Schedule.Blocks[i], &q.Schedule.Blocks[i]
			if !x.From.Equal(y.From) || !x.To.Equal(y.To) || x.Subs != y.Subs {
				t.Errorf("%v: block %d: %v to %v, in another zone %v to %v", c.date, i, x.From, x.To, y.From, y.To)
			}
		}
	}
}

// A night is that of its evening's date, on both sides of the date line, and goes on past midnight.
func TestNightsByTheDateLine(t *testing.T) {
	for _, c := range []struct{ lat, lon, zone string }{
		{"1.87", "-157.4", "Pacific/Kiritimati"}, {"-13.8", "-171.8", "Pacific/Apia"}, {"-14.3", "-170.7", "Pacific/Pago_Pago"},
	} {
		r, s := siteAt(t, "balcony-strain-wave", c.lat, c.lon, c.zone, nothingNear...)
		d := eveningOf(2026, 6, 10)
		mid := midnightOf(t, s, d)
		p := sound(t, planned(t, r, d, Options{}, []sky.Target{{Name: "a", Place: at(s, mid, 1, -20)}, {Name: "b", Place: at(s, mid, -2, 15)}}))
		if len(p.Schedule.Blocks) == 0 {
			t.Fatalf("%s: nothing is planned", c.zone)
		}
		first, last := p.Schedule.Blocks[0].From, p.Schedule.Blocks[len(p.Schedule.Blocks)-1].To
		if first.Day() != 10 || first.Hour() < 17 || last.Day() != 11 || last.Hour() > 8 {
			t.Errorf("%s: %v to %v", c.zone, first, last)
		}
	}
}

// In the polar day nothing is planned and nothing lost; in the polar night a plan reaches from noon to noon.
func TestPolarDayAndNight(t *testing.T) {
	for _, lat := range []string{"86", "-86"} {
		r, s := siteAt(t, "balcony-strain-wave", lat, "15", "Etc/GMT-1", travelling("270")...)
		dark, light := eveningOf(2026, 12, 20), eveningOf(2026, 6, 20)
		if s.Lat < 0 {
			dark, light = light, dark
		}
		sign := axes.Hemisphere(s.Lat)
		targets := func(d time.Time) []sky.Target {
			mid := midnightOf(t, s, d)
			return []sky.Target{{Name: "high", Place: at(s, mid, 0, 70*sign)}, {Name: "low", Place: at(s, mid, 5, 30*sign)}}
		}
		p := sound(t, planned(t, r, light, Options{}, targets(light)))
		if g := &p.Targets[0]; len(p.Schedule.Blocks) != 0 || g.Lost != (Lost{}) || len(g.Sky) != 0 || !noted(p, "not get dark") {
			t.Errorf("%s°, polar day: %+v %v", lat, g.Lost, p.Notes)
		}
		p = sound(t, planned(t, r, dark, Options{}, targets(dark)))
		g := &p.Targets[0]
		if len(g.Sky) != 1 || !g.Sky[0].From.Equal(p.Night.Noon) || !g.Sky[0].To.Equal(p.Night.NextNoon) {
			t.Fatalf("%s°, polar night: the sky has it %v", lat, g.Sky)
		}
		total := time.Duration(0)
		for _, b := range g.Blocks {
			total += b.To.Sub(b.From)
		}
		if total < 23*time.Hour {
			t.Errorf("%s°, polar night: %v of exposures alone, %+v\n%s", lat, total, g.Lost, p.text())
		}
	}
}

// A target that is never up has no blocks, and all its loss is the horizon's; one that never sets has no horizon to lose to.
func TestNeverUpAndNeverSets(t *testing.T) {
	r, s := siteAt(t, "terrace-long-refractor", "51", "0", "Europe/London", "site.horizon", "[]")
	d := eveningOf(2026, 1, 20)
	mid := midnightOf(t, s, d)
	targets := []sky.Target{{Name: "never up", Place: at(s, mid, 0, -60)}, {Name: "never sets", Place: at(s, mid, 3, 75)}}
	p := sound(t, planned(t, r, d, Options{}, targets))
	up, sets := &p.Targets[0], &p.Targets[1]
	if up.Rises || len(up.Blocks) != 0 || len(up.Sky) != 0 || up.Lost.Horizon == 0 || up.Lost.Rig() != 0 || up.MaxAltitude > 0 {
		t.Errorf("never up: %+v, %q", up.Lost, up.Advice.Text)
	}
	if sets.Lost.Horizon != 0 || len(sets.Blocks) == 0 {
		t.Errorf("never sets: %+v", sets.Lost)
	}
}

// Targets through the zenith within 0.1°, where the azimuth turns by half a turn in a moment.
func TestThroughTheZenith(t *testing.T) {
	for _, lat := range []string{"36.9", "-36.9", "0"} {
		r, s := siteAt(t, "balcony-strain-wave", lat, "-3.4", "UTC", "support.obstacles", "[]", "site.horizon", "[[0, 20], [90, 30], [180, 10], [270, 30]]")
		d := eveningOf(2026, 2, 14)
		for _, off := range []float64{-0.09, 0, 0.09} {
			target := sky.Target{Name: "zenith", Place: at(s, midnightOf(t, s, d), 0, axes.Deg(s.Lat)+off)}
			p := sound(t, planned(t, r, d, Options{}, []sky.Target{target}))
			if g := &p.Targets[0]; axes.Deg(g.MaxAltitude) < 89.89 || len(g.Blocks) == 0 {
				t.Errorf("%s°, %+.2f°: stands at most at %.2f°, %d blocks", lat, off, axes.Deg(g.MaxAltitude), len(g.Blocks))
			}
		}
	}
}

// A circumpolar target at its lower transit at midnight, and targets by the pole, at it, and a mosaic across it.
func TestUnderThePoleAndAtIt(t *testing.T) {
	for _, lat := range []string{"55", "-55"} {
		r, s := siteAt(t, "terrace-long-refractor", lat, "10", "UTC", "site.horizon", "[]", "mount.own_rules.side_choice", "as_told",
			"mount.travel.ra_from_deg", "-270", "mount.travel.ra_to_deg", "270")
		d := eveningOf(2026, 1, 20)
		if s.Lat < 0 {
			d = eveningOf(2026, 7, 20)
		}
		mid, sign := midnightOf(t, s, d), axes.Hemisphere(s.Lat)
		p := sound(t, planned(t, r, d, Options{}, []sky.Target{
			{Name: "under the pole", Place: at(s, mid, 12, 65*sign)},
			{Name: "6′ from the pole", Place: at(s, mid, 6, 89.9*sign)},
			{Name: "2″ from the pole", Place: at(s, mid, 6, (90-2./3600)*sign)},
			{Name: "at the pole", Place: at(s, mid, 0, 90*sign)},
			{Name: "across the pole", Place: at(s, mid, 0, 89*sign), Extent: axes.Rad(2)},
		}))
		if g := &p.Targets[0]; len(g.Sky) == 0 || len(g.Blocks) == 0 {
			t.Errorf("%s°: %s: %v %q", lat, g.Name, g.Sky, g.Advice.Text)
		}
		if g := &p.Targets[4]; len(g.Blocks) != 0 {
			t.Errorf("%s°: %s is planned, and no hour angle holds for all of it", lat, g.Name)
		}
	}
}

// At the equator the pole lies on the horizon.
func TestAtTheEquator(t *testing.T) {
	r, s := siteAt(t, "balcony-strain-wave", "0", "30", "Africa/Kampala", nothingNear...)
	d := eveningOf(2026, 5, 5)
	mid := midnightOf(t, s, d)
	p := sound(t, planned(t, r, d, Options{}, []sky.Target{
		{Name: "north", Place: at(s, mid, -2, 60)}, {Name: "south", Place: at(s, mid, 1, -60)},
		{Name: "equator", Place: at(s, mid, 0, 0)}, {Name: "pole", Place: at(s, mid, 0, 89.5)},
	}))
	if len(p.Schedule.Blocks) == 0 || !noted(p, "which axis turns first in a slew (mount.slew.axis_order)") {
		t.Errorf("%d blocks, and nothing of the order of the axes: %v", len(p.Schedule.Blocks), p.Notes)
	}
}

// A rig without any room plans nothing, in both modes, and says what the night is lost to; one with nothing near plans the whole of it.
func TestNoRoomAndUnlimitedRoom(t *testing.T) {
	_, s := siteAt(t, "terrace-long-refractor", "36.9", "-3.4", "Europe/Madrid")
	d := eveningOf(2026, 1, 20)
	mid := midnightOf(t, s, d)
	targets := []sky.Target{{Name: "a", Place: at(s, mid, 0, 45)}, {Name: "b", Place: at(s, mid, -3, 20)}}
	for _, two := range []bool{false, true} {
		tight, _ := siteAt(t, "terrace-long-refractor", "36.9", "-3.4", "Europe/Madrid", "margin_mm", "400")
		p := sound(t, planned(t, tight, d, Options{TwoNumber: two}, targets))
		for i := range p.Targets {
			g := &p.Targets[i]
			used := g.Lost.Exposed + g.Lost.Flip + g.Lost.Idle
			if len(g.Blocks)+len(g.Usable) != 0 || g.Lost.NoRoom == 0 || used != 0 || g.Advice.Text != "no room on either side" {
				t.Errorf("two numbers %v: no room, %s: %+v %q", two, g.Name, g.Lost, g.Advice.Text)
			}
		}
		if len(p.Schedule.Blocks) != 0 || p.Schedule.Park != nil || !p.Schedule.Exact {
			t.Errorf("no room: %+v", p.Schedule)
		}
		roomy, _ := siteAt(t, "balcony-strain-wave", "36.9", "-3.4", "Europe/Madrid", travelling("350")...)
		p = sound(t, planned(t, roomy, d, Options{TwoNumber: two}, targets))
		for i := range p.Targets {
			if g := &p.Targets[i]; g.Lost.Rig() > 12*time.Minute || len(g.Blocks) == 0 {
				t.Errorf("two numbers %v: unlimited room, %s loses %v to the rig: %+v", two, g.Name, g.Lost.Rig(), g.Lost)
			}
		}
	}
}

// A park position that is not free leaves nothing to plan, and the plan says why: at the equator the counterweights of this mount hang
// into the pier.
func TestParkThatIsNotFree(t *testing.T) {
	r, s := siteAt(t, "karoo-newtonian", "0", "30", "Africa/Kampala")
	d := eveningOf(2026, 5, 5)
	p := sound(t, planned(t, r, d, Options{}, []sky.Target{{Name: "a", Place: at(s, midnightOf(t, s, d), 0, 30)}}))
	if len(p.Schedule.Blocks) != 0 || !noted(p, "park, which is not proven free") || noted(p, "axis_order") {
		t.Errorf("%d blocks, %v", len(p.Schedule.Blocks), p.Notes)
	}
}

// A mount of which the side is not known: every block is free on both, and so is every slew between them.
func TestSideLeftOpen(t *testing.T) {
	changes := append(travelling("180"), "mount.own_rules.side_choice", "unknown", "mount.travel.declination_flip", "unknown",
		"mount.travel.dec_from_deg", "-360", "mount.travel.dec_to_deg", "360", "mount.slew.axis_order", "unknown")
	r, s := siteAt(t, "balcony-strain-wave", "51.2", "7", "Europe/Berlin", changes...)
	d := eveningOf(2026, 1, 20)
	mid := midnightOf(t, s, d)
	p := sound(t, planned(t, r, d, Options{}, []sky.Target{
		{Name: "a", Place: at(s, mid, -4, 60)}, {Name: "b", Place: at(s, mid, 0, 20), Extent: axes.Rad(1)}, {Name: "c", Place: at(s, mid, 4, -5)},
	}))
	if len(p.Schedule.Blocks) < 2 {
		t.Errorf("%d blocks: %v", len(p.Schedule.Blocks), p.Notes)
	}
	for _, b := range p.Schedule.Blocks {
		if !b.Either || b.Come.Flip {
			t.Errorf("a block on side %v alone", b.Side)
		}
	}
}

// With the Moon on the target nothing is exposed while it is up and lit, and all of the night when it does not matter.
func TestTheMoonOnTheTarget(t *testing.T) {
	r, s := siteAt(t, "terrace-long-refractor", "36.9", "-3.4", "Europe/Madrid", "site.horizon", "[]")
	d := eveningOf(2026, 1, 3) // full Moon
	mid := midnightOf(t, s, d)
	moon := s.Moon(mid)
	targets := []sky.Target{{Name: "by the Moon", Place: at(s, mid, axes.Hours(s.HourAngle(mid, moon)), axes.Deg(moon.Dec))}}
	p := sound(t, planned(t, r, d, Options{MoonApart: axes.Rad(20)}, targets))
	if g := &p.Targets[0]; len(g.Blocks) != 0 || g.Lost.Moon < 6*time.Hour || axes.Deg(g.MoonApart) > 2 {
		t.Errorf("the Moon %.2f° away: %+v", axes.Deg(g.MoonApart), g.Lost)
	}
	p = sound(t, planned(t, r, d, Options{MoonApart: axes.Rad(20), MoonLit: 1}, targets))
	if g := &p.Targets[0]; len(g.Blocks) == 0 || g.Lost.Moon != 0 || !(g.MoonBrighter > 2) {
		t.Errorf("a Moon that does not matter: %+v, %.2f mag brighter", g.Lost, g.MoonBrighter)
	}
}

// A mosaic is exposed only while every pointing of it stands above the least altitude and the wall in the south, and far enough from
// the Moon.
func TestEveryPointingOfAMosaicIsUp(t *testing.T) {
	const least, apart, extent = 25, 30, 3
	rnd := optSeeded(t)
	r, s := siteAt(t, "terrace-long-refractor", "36.9", "-3.4", "Europe/Madrid", "site.horizon", "[[0, 5], [120, 5], [121, 40], [240, 40], [241, 5]]")
	d := eveningOf(2026, 1, 28)
	mid := midnightOf(t, s, d)
	moon := s.Moon(mid)
	hour := axes.Hours(s.HourAngle(mid, moon))
	p := sound(t, planned(t, r, d, Options{MinAltitude: axes.Rad(least), MoonApart: axes.Rad(apart)}, []sky.Target{
		{Name: "high", Place: at(s, mid, 0, 30), Extent: axes.Rad(extent)}, {Name: "south", Place: at(s, mid, -1, 15), Extent: axes.Rad(extent)},
		{Name: "north", Place: at(s, mid, 3, 60), Extent: axes.Rad(extent)}, {Name: "by the Moon", Place: at(s, mid, hour, axes.Deg(moon.Dec)+33), Extent: axes.Rad(extent)},
	}))
	for _, g := range p.Targets {
		if len(g.Usable) == 0 {
			t.Errorf("%s is never usable", g.Name)
		}
		for _, w := range g.Usable {
			for range 2000 {
				when := w.From.Add(time.Duration(rnd.Float64() * float64(w.Length())))
				e := g.Apparent.Off(axes.Rad(extent)*rnd.Float64(), 2*math.Pi*rnd.Float64())
				// Eight pointings stand for the rim: between them it reaches a thirteenth of the extent further.
				if alt, az := s.AltAz(when, e); axes.Deg(alt) < least-extent/13. || axes.Deg(az) > 130 && axes.Deg(az) < 230 && axes.Deg(alt) < 40-extent/13. {
					t.Errorf("%s at %v: a pointing at altitude %.2f°, azimuth %.1f°", g.Name, when, axes.Deg(alt), axes.Deg(az))
				}
				if alt, _ := s.AltAz(when, s.Moon(when)); alt > axes.Rad(1) && sky.Separation(e, s.Moon(when)) < axes.Rad(apart-0.1) {
					t.Errorf("%s at %v: a pointing %.2f° from the Moon", g.Name, when, axes.Deg(sky.Separation(e, s.Moon(when))))
				}
			}
		}
	}
}

// Travel beyond a half turn lets a run go on where another mount must turn back.
func TestTravelBeyondAHalfTurn(t *testing.T) {
	d := eveningOf(2026, 1, 20)
	var got []int
	for _, to := range []string{"180", "300"} {
		r, s := siteAt(t, "balcony-strain-wave", "51.2", "7", "Europe/Berlin", travelling(to)...)
		target := sky.Target{Name: "a", Place: at(s, midnightOf(t, s, d), 5, 75), Extent: axes.Rad(1)}
		p := sound(t, planned(t, r, d, Options{}, []sky.Target{target}))
		got = append(got, p.Targets[0].Subs)
		if p.Targets[0].Row.Stop.Reason == room.NeverUsable {
			t.Errorf("travel to %s°: %q", to, p.Targets[0].Advice.Text)
		}
	}
	if got[1] < got[0] {
		t.Errorf("with more travel %d sub-exposures, with less %d", got[1], got[0])
	}
}

// One target, and forty of them.
func TestOneTargetAndForty(t *testing.T) {
	r, s := siteAt(t, "terrace-long-refractor", "36.9", "-3.4", "Europe/Madrid")
	d := eveningOf(2026, 1, 20)
	mid := midnightOf(t, s, d)
	p := sound(t, planned(t, r, d, Options{}, []sky.Target{{Name: "alone", Place: at(s, mid, 0, 30)}}))
	if len(p.Schedule.Blocks) == 0 || p.Targets[0].Subs == 0 {
		t.Error("nothing is planned for one target")
	}
	var many []sky.Target
	for i := range 40 {
		many = append(many, sky.Target{Name: "one of forty", Place: at(s, mid, float64(i*7%16)-8, float64(i*37%120)-40),
			Priority: i % 5, Wanted: time.Duration(i%4) * time.Hour})
	}
	j := planned(t, r, d, Options{}, many)
	j.tries = 2
	if p := sound(t, j); len(p.Schedule.Blocks) < 3 {
		t.Errorf("%d blocks of forty targets", len(p.Schedule.Blocks))
	}
}
