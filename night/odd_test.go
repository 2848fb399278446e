package night

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

var exampleRigs = []string{"terrace-long-refractor", "terrace-turned", "terrace-riser", "balcony-strain-wave", "karoo-newtonian"}

func loaded(t testing.TB, name string) *rig.Rig {
	t.Helper()
	r, err := rig.Load("../examples/" + name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// with is a rig with pairs of path and value changed; what makes no rig is left as it is.
func with(r *rig.Rig, changes ...string) (*rig.Rig, []string) {
	var done []string
	for i := 0; i+1 < len(changes); i += 2 {
		if next, err := r.With(changes[i], changes[i+1]); err == nil {
			r = next
			done = append(done, changes[i]+"="+changes[i+1])
		}
	}
	return r, done
}

// oddity is one thing about a rig that may be odd: a path of the document and the values that it may take.
type oddity struct {
	path   string
	values []string
}

var oddities = []oddity{
	{"mount.travel.ra_from_deg", []string{"-180", "-90", "-95", "-110", "-200", "-270", "-350"}},
	{"mount.travel.ra_to_deg", []string{"180", "270", "95", "110", "200", "90", "9", "350"}},
	{"mount.travel.dec_from_deg", []string{"-180", "-10", "-200", "-95", "-360"}},
	{"mount.travel.dec_to_deg", []string{"180", "190", "200", "95", "360"}},
	{"mount.travel.declination_flip", []string{"through_pole", "through_far_pole", "unknown"}},
	{"mount.zero_errors.ra_deg", []string{"0 ± 0.3", "2", "-7 ± 1"}},
	{"mount.zero_errors.dec_deg", []string{"0 ± 0.3", "-2", "5"}},
	{"mount.zero_errors.cone_deg", []string{"0 ± 0.3", "3"}},
	{"support.out_of_level", []string{"null", "{lean_deg: 3, azimuth_deg: 200}"}},
	{"site.horizon", []string{"[]", "[[0, 14], [40, 50], [75, -7], [200, 5]]", "[[10, 30]]", "[[180, 85], [181, 2], [355, -20]]"}},
	{"mount.slew.ra_deg_per_s", []string{"3", "0.3", "8"}},
	{"mount.slew.dec_deg_per_s", []string{"3", "0.3", "0.9"}},
	{"mount.slew.rate_spread_percent", []string{"30", "0", "80"}},
	{"mount.slew.overshoot_deg", []string{"1", "0", "5"}},
	{"mount.slew.axis_order", []string{"both_at_once", "ra_first", "dec_first", "unknown"}},
	{"mount.slew.settle_s", []string{"10", "0", "120"}},
	{"mount.own_rules.side_choice", []string{"as_told", "by_hour_angle", "unknown"}},
	{"mount.own_rules.earliest_flip_min", []string{"null", "-30", "45", "-120"}},
	{"mount.crossing.height_mm", []string{"420 ± 3", "300 ± 5", "600"}},
	{"mount.saddle_distance_mm", []string{"210 ± 2", "180", "260 ± 5"}},
	{"mount.park", []string{"null", "{ra_axis_deg: 0, dec_axis_deg: 0}", "{ra_axis_deg: 90, dec_axis_deg: 0}",
		"{ra_axis_deg: -80, dec_axis_deg: -60}", "{ra_axis_deg: 0, dec_axis_deg: 90}"}},
	{"mount.home", []string{"null", "{ra_axis_deg: 0, dec_axis_deg: 0}", "{ra_axis_deg: 45, dec_axis_deg: 30}"}},
	{"support.legs.first_azimuth_deg", []string{"0", "17 ± 3", "60", "95", "110"}},
	{"support.extension", []string{"null", "{diameter_mm: 130 ± 1, height_mm: 200 ± 1}",
		"{diameter_mm: 100 ± 1, height_mm: 420 ± 2}"}},
	{"tube.train.rotator.angle_deg", []string{"0", "45 ± 2", "90"}},
	{"margin_mm", []string{"30", "0", "5", "60"}},
}

var latitudes = []string{"0", "0.001", "5", "-5", "85", "-85", "89.5", "-89.5", "90", "60", "67", "-33.3", "-69", "23.4", "51", "36.9"}

var zones = []string{"Europe/Madrid", "Europe/Berlin", "Africa/Johannesburg", "Pacific/Kiritimati", "Pacific/Apia", "Asia/Kathmandu",
	"America/Los_Angeles", "Australia/Lord_Howe", "Atlantic/Azores", "UTC"}

// odd draws a rig, and says what is odd about it.
func odd(t testing.TB, rnd *rand.Rand) (*rig.Rig, string) {
	name := exampleRigs[rnd.IntN(len(exampleRigs))]
	r := loaded(t, name)
	var changes []string
	lat := r.Site.LatitudeDeg
	if rnd.IntN(3) > 0 {
		text := latitudes[rnd.IntN(len(latitudes))]
		fmt.Sscan(text, &lat)
		changes = append(changes, "site.latitude_deg", text, "mount.polar_axis.altitude_deg", fmt.Sprint(math.Abs(lat)))
	}
	switch rnd.IntN(6) {
	case 0:
		alt := min(90, math.Abs(math.Abs(lat)+6*rnd.Float64()-3))
		changes = append(changes, "mount.polar_axis.altitude_deg", fmt.Sprintf("%.2f", alt),
			"mount.polar_axis.azimuth_error_deg", fmt.Sprintf("%.2f", 8*rnd.Float64()-4))
	case 1:
		if rnd.IntN(4) == 0 {
			changes = append(changes, "mount.polar_axis.altitude_deg", fmt.Sprintf("%.1f", 90*rnd.Float64()))
		}
	}
	changes = append(changes, "site.longitude_deg", fmt.Sprintf("%.3f", 360*rnd.Float64()-180), "site.time_zone", zones[rnd.IntN(len(zones))])
	for _, i := range rnd.Perm(len(oddities))[:rnd.IntN(7)] {
		o := oddities[i]
		changes = append(changes, o.path, o.values[rnd.IntN(len(o.values))])
	}
	r, done := with(r, changes...)
	return r, name + " " + strings.Join(done, " ")
}

// oddTargets draws what an owner may ask for; most of it is up at midnight.
func oddTargets(rnd *rand.Rand, site sky.Site, midnight time.Time) []sky.Target {
	var out []sky.Target
	for i := range 1 + rnd.IntN(8) {
		dec := math.Asin(2*rnd.Float64() - 1)
		switch rnd.IntN(8) {
		case 0:
			dec = axes.Rad(180*rnd.Float64() - 90)
		case 1:
			dec = site.Lat + axes.Rad(rnd.Float64()-0.5) // by the zenith
		case 2:
			dec = axes.Hemisphere(site.Lat) * axes.Rad(90-10*rnd.Float64()*rnd.Float64()) // by the pole
		}
		if dec*site.Lat < 0 && math.Abs(dec-site.Lat) > math.Pi/2 && rnd.IntN(4) > 0 {
			dec = -dec
		}
		dec = max(-math.Pi/2, min(math.Pi/2, dec))
		ra := site.SiderealTime(midnight) + axes.FromHours(16*rnd.Float64()-8)
		t := sky.Target{Name: fmt.Sprintf("target %d", i), Place: sky.J2000{RA: math.Mod(ra+4*math.Pi, whole), Dec: dec}}
		if rnd.IntN(2) == 0 {
			t.Priority = 1 + rnd.IntN(3)
		}
		if rnd.IntN(3) == 0 {
			t.Sub = []time.Duration{10 * time.Second, time.Minute, 170 * time.Second, 20 * time.Minute}[rnd.IntN(4)]
		}
		if rnd.IntN(3) == 0 {
			t.Wanted = time.Duration(1+rnd.IntN(300)) * time.Minute
		}
		if rnd.IntN(4) == 0 {
			t.Extent = axes.Rad([]float64{0.05, 0.3, 1, 2}[rnd.IntN(4)])
		}
		out = append(out, t)
	}
	return out
}

func oddOptions(rnd *rand.Rand) Options {
	var o Options
	some := func(n int) bool { return rnd.IntN(n) == 0 }
	if some(3) {
		o.SunAltitude = axes.Rad([]float64{-6, -12, -15, -1}[rnd.IntN(4)])
	}
	if some(2) {
		o.MinAltitude = axes.Rad(40 * rnd.Float64())
	}
	if some(3) {
		o.MoonApart, o.MoonLit = axes.Rad(90*rnd.Float64()), rnd.Float64()*rnd.Float64()
	}
	if some(3) {
		o.Sub = time.Duration(1+rnd.IntN(900)) * time.Second
	}
	if some(2) {
		o.Download, o.Dither = time.Duration(rnd.IntN(20000))*time.Millisecond, time.Duration(rnd.IntN(30))*time.Second
	}
	if some(3) {
		o.MinBlock = time.Duration(1+rnd.IntN(90)) * time.Minute
	}
	o.TwoNumber = some(4)
	return o
}

// oddNight draws a night and plans it; plan is nil for a rig that no plan is for.
func oddNight(t testing.TB, rnd *rand.Rand) (j *judge, what string) {
	t.Helper()
	r, what := odd(t, rnd)
	mode := []rig.ToleranceMode{rig.RSS, rig.Worst, rig.None}[rnd.IntN(3)]
	date := time.Date(2020+rnd.IntN(21), 1, 1+rnd.IntN(366), 0, 0, 0, 0, time.UTC)
	site, err := sky.NewSite(r.Site)
	if err != nil {
		t.Fatal(err)
	}
	n, err := sky.NightOf(site, date.Year(), date.Month(), date.Day())
	if err != nil {
		t.Fatal(err)
	}
	targets, o := oddTargets(rnd, site, n.Midnight), oddOptions(rnd)
	what = fmt.Sprintf("%s\n%s, tolerance %s, %+v", what, date.Format(time.DateOnly), mode, o)
	for i, g := range targets {
		what += fmt.Sprintf("\n  %d: ra %.4f° dec %.4f° priority %d sub %v wanted %v extent %.2f°", i, axes.Deg(g.Place.RA),
			axes.Deg(g.Place.Dec), g.Priority, g.Sub, g.Wanted, axes.Deg(g.Extent))
	}
	g := gaugeOf(t, r, mode)
	if g == nil {
		return nil, what
	}
	plan, err := New(context.Background(), mapOf(t, g, 1), site, date, targets, o)
	if errors.Is(err, room.ErrJoint) {
		return nil, what
	}
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	return newJudge(plan, g, site, rnd), what
}

// gaugeOf is nil for a rig that makes no model.
func gaugeOf(t testing.TB, r *rig.Rig, mode rig.ToleranceMode) *room.Gauge {
	t.Helper()
	m, err := axes.NewModel(r, nil)
	if err != nil {
		return nil
	}
	g, err := room.NewGauge(m, room.Options{Mode: mode})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func mapOf(t testing.TB, g *room.Gauge, cell float64) *room.Map {
	t.Helper()
	m, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: cell})
	if err != nil {
		t.Fatal(err)
	}
	return m
}
