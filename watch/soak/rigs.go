package soak

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"sync"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// subject is a rig with all that a watch of it needs.
type subject struct {
	name  string
	as    string // what of it was changed
	rig   *rig.Rig
	m     *room.Map
	g     *room.Gauge
	site  sky.Site
	print string
}

// cellDeg is the smallest cell of the maps here: coarse, for a map a night. Coarse is never less safe, only less roomy.
const cellDeg = 1

// stable holds the rigs of a soak.
type stable struct {
	rigs []*rig.Rig
	mu   sync.Mutex
	made map[int]*subject // those as they are written
}

func newStable(rigs []*rig.Rig) *stable { return &stable{rigs: rigs, made: map[int]*subject{}} }

// written gives a rig as its document has it.
func (s *stable) written(ctx context.Context, i int) (*subject, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.made[i] == nil {
		x, err := prepare(ctx, s.rigs[i])
		if err != nil {
			return nil, fmt.Errorf("%s: %w", s.rigs[i].Path, err)
		}
		s.made[i] = x
	}
	return s.made[i], nil
}

func prepare(ctx context.Context, r *rig.Rig) (*subject, error) {
	model, err := axes.NewModel(r, nil)
	if err != nil {
		return nil, err
	}
	g, err := room.NewGauge(model, room.Options{})
	if err != nil {
		return nil, err
	}
	if err := g.JointsHold(); err != nil {
		return nil, err
	}
	rest := r.Mount.Park
	for i, place := range []*rig.AxisPose{rest, r.Mount.Home} {
		if place == nil {
			name := []string{"park", "home"}[i]
			return nil, fmt.Errorf("the document does not say where the mount's %s is: add `%s: {ra_axis_deg: 0, dec_axis_deg: 0}`, with your angles, under mount", name, name)
		}
	}
	if lower := g.Gap(axes.Angles{RA: axes.Rad(rest.RAAxisDeg), Dec: axes.Rad(rest.DecAxisDeg)}, g.NewScratch()).Lower; lower < g.MarginMM+2 {
		return nil, fmt.Errorf("no room at park: %.1f mm are proven of the margin's %.1f mm", lower, g.MarginMM)
	}
	site, err := sky.NewSite(r.Site)
	if err != nil {
		return nil, err
	}
	m, err := room.NewMap(ctx, g, room.MapOptions{CellDeg: cellDeg, Workers: 1})
	if err != nil {
		return nil, err
	}
	return &subject{name: r.Name, rig: r, m: m, g: g, site: site, print: r.Fingerprint()}, nil
}

// odd is one thing about a rig that may be made odd: a path of the document and values that it may take.
type odd struct {
	path   string
	values []string
}

var odds = []odd{
	{"site.latitude_deg", []string{"0", "5", "-5", "70", "-70", "60", "-33.3", "28"}},
	{"mount.travel.ra_from_deg", []string{"-180", "-120", "-95", "-200"}},
	{"mount.travel.ra_to_deg", []string{"180", "120", "95", "200"}},
	{"mount.travel.declination_flip", []string{"through_pole", "through_far_pole", "unknown"}},
	{"mount.polar_axis.azimuth_error_deg", []string{"0 ± 0.2", "2 ± 0.3", "-3.5 ± 0.3"}},
	{"mount.zero_errors.ra_deg", []string{"0 ± 0.3", "2 ± 0.3", "-3 ± 0.5"}},
	{"mount.zero_errors.dec_deg", []string{"0 ± 0.3", "-2 ± 0.3", "3 ± 0.5"}},
	{"mount.zero_errors.cone_deg", []string{"0 ± 0.3", "2 ± 0.5"}},
	{"support.out_of_level", []string{"null", "{lean_deg: 3 ± 0.5, azimuth_deg: 200}"}},
	{"mount.slew.ra_deg_per_s", []string{"0.15", "0.3", "1", "5", "8"}},
	{"mount.slew.dec_deg_per_s", []string{"0.15", "0.3", "1", "5", "8"}},
	{"mount.slew.rate_spread_percent", []string{"0", "30", "80"}},
	{"mount.slew.overshoot_deg", []string{"0", "1", "4"}},
	{"mount.slew.axis_order", []string{"both_at_once", "ra_first", "dec_first", "unknown"}},
	{"mount.slew.settle_s", []string{"0", "2", "30"}},
	{"mount.own_rules.side_choice", []string{"as_told", "by_hour_angle", "unknown"}},
	{"mount.own_rules.earliest_flip_min", []string{"null", "-30", "45", "0"}},
	{"mount.own_rules.at_limit", []string{"stops", "flips", "runs_on", "unknown"}},
	{"mount.park", []string{"{ra_axis_deg: 90, dec_axis_deg: 90}", "{ra_axis_deg: 0, dec_axis_deg: 0}", "{ra_axis_deg: -40, dec_axis_deg: -60}"}},
	{"margin_mm", []string{"20", "45", "60"}},
}

// change gives a rig with some things made odd and some lengths drawn anew, and says which. A value that the document does not take
// is left as it was.
func change(r *rig.Rig, rnd *rand.Rand) (*rig.Rig, string) {
	var what []string
	set := func(path, value string) {
		if next, err := r.With(path, value); err == nil {
			r = next
			what = append(what, path+"="+value)
		}
	}
	for range 1 + rnd.IntN(6) {
		o := odds[rnd.IntN(len(odds))]
		set(o.path, o.values[rnd.IntN(len(o.values))])
	}
	for range 1 + rnd.IntN(6) {
		q := r.Quantities[rnd.IntN(len(r.Quantities))]
		if q.Unit == "mm" && q.Value != 0 && q.Path != "margin_mm" {
			to := strconv.FormatFloat(q.Value*(0.8+0.45*rnd.Float64()), 'f', 1, 64)
			set(q.Path, to+" ± "+strconv.FormatFloat(q.Tol, 'g', 4, 64))
		}
	}
	return r, strings.Join(what, ", ")
}
