package room

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

func vec3(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }

// tilted is made with a head that points off the pole, by so many degrees in altitude and azimuth.
func tilted(t testing.TB, latDeg, altOff, azOff float64, parts ...rig.Part) *axes.Model {
	t.Helper()
	m := made(t, latDeg, parts...)
	asm := *m.Assembly
	asm.AltitudeDeg += altOff
	asm.AzimuthErrorDeg = azOff
	out, err := axes.FromAssembly(m.Rig, &asm)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// mutation is one thing about a rig that is made odd: a path of the document and the values it may take.
type mutation struct {
	path   string
	values []string
}

// mutations are chosen by a fuzzer's bytes.
var mutations = []mutation{
	{"site.latitude_deg", []string{"0", "5", "-5", "85", "-85", "90", "-90", "60", "-33.3", "0.001"}},
	{"mount.travel.ra_from_deg", []string{"-180", "-90", "-95", "-200", "-270", "-350"}},
	{"mount.travel.ra_to_deg", []string{"180", "270", "95", "200", "90", "9"}},
	{"mount.travel.dec_from_deg", []string{"-180", "-10", "-200", "-95", "-360"}},
	{"mount.travel.dec_to_deg", []string{"180", "190", "200", "95", "360"}},
	{"mount.travel.declination_flip", []string{"through_pole", "through_far_pole", "unknown"}},
	{"mount.polar_axis.altitude_deg", []string{"null", "30", "41.5 ± 1", "89", "1"}},
	{"mount.polar_axis.azimuth_error_deg", []string{"0 ± 0.2", "2", "-3.5", "175"}},
	{"mount.zero_errors.ra_deg", []string{"0 ± 0.3", "2", "-7 ± 1", "30"}},
	{"mount.zero_errors.dec_deg", []string{"0 ± 0.3", "-2", "11", "-30 ± 0.1"}},
	{"mount.zero_errors.cone_deg", []string{"0 ± 0.3", "3", "-12 ± 1"}},
	{"support.out_of_level", []string{"null", "{lean_deg: 3, azimuth_deg: 200}", "{lean_deg: 10 ± 2, azimuth_deg: 77}"}},
	{"site.horizon", []string{"[]", "[[0, 14], [40, 50], [75, -7], [200, 5]]", "[[10, 30]]", "[[180, 85], [181, 2], [355, -20]]"}},
	{"mount.slew.ra_deg_per_s", []string{"3", "0.3", "8"}},
	{"mount.slew.dec_deg_per_s", []string{"3", "0.3", "0.9"}},
	{"mount.slew.rate_spread_percent", []string{"30", "0", "95"}},
	{"mount.slew.overshoot_deg", []string{"1", "0", "8"}},
	{"mount.slew.axis_order", []string{"both_at_once", "ra_first", "dec_first", "unknown"}},
	{"mount.slew.settle_s", []string{"10", "0", "600"}},
	{"mount.own_rules.side_choice", []string{"as_told", "by_hour_angle", "unknown"}},
	{"mount.own_rules.earliest_flip_min", []string{"null", "-30", "45"}},
	{"mount.crossing.height_mm", []string{"420 ± 3", "200 ± 20", "900"}},
	{"mount.saddle_distance_mm", []string{"210 ± 2", "120", "350 ± 10"}},
	{"margin_mm", []string{"30", "0", "1", "120"}},
}

// mutated gives an example rig with the values that the bytes name; nil when they make no rig.
func mutated(t testing.TB, example int, data []byte) *axes.Model {
	t.Helper()
	files := examples(t)
	r, err := rig.Load(files[example%len(files)])
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i+1 < len(data) && i < 20; i += 2 {
		m := mutations[int(data[i])%len(mutations)]
		if next, err := r.With(m.path, m.values[int(data[i+1])%len(m.values)]); err == nil {
			r = next
		}
	}
	m, err := axes.NewModel(r, nil)
	if err != nil {
		return nil
	}
	return m
}

// tryRig holds everything that a map of the model calls free against brute force.
func tryRig(t *testing.T, model *axes.Model, mode rig.ToleranceMode, rnd *rand.Rand, n int) (free int) {
	t.Helper()
	g, err := NewGauge(model, Options{Mode: mode})
	if err != nil {
		t.Fatal(err)
	}
	m := mapOf(t, g, 2)
	j := newJudge(model, g.MarginMM, mode)
	h := &model.Head
	tr := model.Travel
	check := func(what string, ax axes.Angles) {
		t.Helper()
		free++
		if s, who := j.slack(ax); s < -1e-3 {
			t.Fatalf("%s: θ %.4f° β %.4f°: %s to %s %v mm below", what, axes.Deg(ax.RA), axes.Deg(ax.Dec),
				model.Parts[who.a].Name, model.Parts[who.b].Name, s)
		}
	}

	// The map, and the gauge's own answer.
	s, scratch := newSampler(rnd, m), g.NewScratch()
	for range n {
		ax := s.pose()
		if m.State(ax) == Free {
			check("map", ax)
			if !g.Free(ax, scratch) {
				t.Fatalf("the map calls %v free, the gauge does not", ax)
			}
		}
		if gap := g.Gap(ax, scratch); gap.Lower >= g.MarginMM {
			check("gap", ax)
		}
	}

	// Rows and flips.
	l, err := m.Limits(context.Background(), LimitOptions{RowDeg: 10})
	if errors.Is(err, ErrJoint) {
		return free // refused, and rightly: the mutation drives a joined pair together
	}
	if err != nil {
		t.Fatal(err)
	}
	target, ever := m.Target(axes.Rad(rnd.Float64()*180-90), axes.Rad(0.1))
	rows := l.Rows
	if ever {
		rows = append(rows, target)
	}
	for _, row := range rows {
		for side, runs := range map[axes.Side][]Interval{axes.West: row.West, axes.East: row.East} {
			for _, run := range runs {
				for range n / 100 {
					p := axes.Pose{Side: side, HourAngle: run.From + rnd.Float64()*(run.To-run.From), Dec: row.DecFrom + rnd.Float64()*(row.DecTo-row.DecFrom)}
					ax := h.Angles(p)
					check("row", ax)
					if !reaches(tr, ax) {
						t.Fatalf("row: %v is outside the travel %+v", ax, tr)
					}
				}
			}
		}
		if len(row.Flip) > 0 {
			tryFlips(t, m, j, row, rnd)
		}
		if row.Flip != nil && row.Idle != 0 {
			t.Fatalf("a flip window and idle time: %+v", row)
		}
	}

	// Two numbers, the strict pair, and the same pair asked as the owner's own.
	sky := newSky(model)
	for range n {
		ax := axes.Angles{RA: -l.Two.East + rnd.Float64()*(l.Two.East+l.Two.West), Dec: (rnd.Float64()*2 - 1) * math.Pi}
		p := h.Pose(ax)
		if !sky.isUp(p.HourAngle, p.Dec) {
			continue
		}
		slack, who := j.slack(ax)
		if slack >= -1e-3 {
			continue
		}
		strict := ax.RA > -l.Two.StrictEast && ax.RA < l.Two.StrictWest
		if l.Two.Safe || strict || !listed(l.Two.Unprotected, ax, p, model) {
			t.Fatalf("two numbers, safe %v, strict %v: θ %.4f° β %.4f°: %s to %s %v mm below, and it is not listed",
				l.Two.Safe, strict, axes.Deg(ax.RA), axes.Deg(ax.Dec), model.Parts[who.a].Name, model.Parts[who.b].Name, slack)
		}
	}
	west, east := rnd.Float64()*turn, rnd.Float64()*turn
	if mine := m.Mine(west, east, LimitOptions{}); mine.Safe {
		for range n {
			ax := axes.Angles{RA: -east + rnd.Float64()*(east+west), Dec: (rnd.Float64()*2 - 1) * math.Pi}
			if p := h.Pose(ax); sky.isUp(p.HourAngle, p.Dec) {
				check("mine", ax)
			}
		}
	}

	// Slews.
	at := func() axes.Angles {
		return axes.Angles{RA: tr.RAFrom + rnd.Float64()*(tr.RATo-tr.RAFrom), Dec: tr.DecFrom + rnd.Float64()*(tr.DecTo-tr.DecFrom)}
	}
	for range n / 20 {
		a, b := at(), at()
		r, err := m.Slew(a, b)
		if err != nil {
			t.Fatal(err)
		}
		for o, ok := range map[rig.Order]bool{anyOrder: r.AnyOrder, rig.BothAtOnce: r.Both, rig.RAFirst: r.RAFirst, rig.DecFirst: r.DecFirst} {
			if ok {
				free++
				if slack, who := j.worstOnPath(a, b, g.slew(), o, rnd); slack < -1e-3 {
					t.Fatalf("slew %v to %v by %q: %s to %s %v mm below", a, b, o, model.Parts[who.a].Name, model.Parts[who.b].Name, slack)
				}
			}
		}
	}
	return free
}

// listed tells whether a pose lies in one of the islands.
func listed(islands []Island, ax axes.Angles, p axes.Pose, m *axes.Model) bool {
	// An island's declinations are the head's own.
	δ := axes.Hemisphere(m.Head.Latitude) * (quarter - math.Abs(ax.Dec))
	for _, i := range islands {
		if (i.Side == axes.East) == (ax.Dec < 0) && ax.RA >= i.RAFrom && ax.RA <= i.RATo && δ >= i.DecFrom-1e-9 && δ <= i.DecTo+1e-9 {
			return true
		}
	}
	return false
}

// tryFlips drives flips by every way that the document leaves open.
func tryFlips(t *testing.T, m *Map, j *judge, row Row, rnd *rand.Rand) {
	t.Helper()
	g := m.gauge
	h := &g.Model.Head
	dur := m.FlipDuration(row.DecFrom, row.DecTo)
	way := g.Model.Rig.Mount.Travel.Flip
	for _, f := range row.Flip {
		for range 3 {
			H := f.From + rnd.Float64()*(f.To-f.From)
			dec := row.DecFrom + rnd.Float64()*(row.DecTo-row.DecFrom)
			a := h.Angles(axes.Pose{Side: axes.West, HourAngle: H, Dec: dec})
			b := h.Angles(axes.Pose{Side: axes.East, HourAngle: H + rnd.Float64()*dur, Dec: dec})
			if math.Abs(b.RA-a.RA) > math.Pi+1e-6 && h.Misalignment() > 0 {
				continue // the hour angle of a head jumps near its pole; the axis does not
			}
			if way == rig.AwayFromPole || way != rig.ThroughPole && rnd.IntN(2) == 0 {
				b.Dec += turn
			}
			if slack, who := j.worstOnPath(a, b, g.slew(), g.Model.Rig.Mount.Slew.Order, rnd); slack < -1e-3 {
				t.Fatalf("flip at %.3f h, δ %.2f°, %v: %s to %s %v mm below", axes.Hours(H), axes.Deg(dec), way,
					g.Model.Parts[who.a].Name, g.Model.Parts[who.b].Name, slack)
			}
		}
	}
}

var modes = []rig.ToleranceMode{rig.RSS, rig.Worst, rig.None}

// Free means free on rigs made odd at random: latitudes, travel, heads off the pole, zero errors, ways to flip, rates, horizons.
func TestFreeMeansFreeOnOddRigs(t *testing.T) {
	rnd := seeded(t)
	free, rigs := 0, 0
	for range max(8, *poses/2500) {
		data := make([]byte, 16)
		for i := range data {
			data[i] = byte(rnd.IntN(256))
		}
		example, mode := rnd.IntN(100), rnd.IntN(3)
		model := mutated(t, example, data)
		if model == nil {
			continue
		}
		rigs++
		t.Run(fmt.Sprintf("%d/%x/%d", example, data, mode), func(t *testing.T) {
			free += tryRig(t, model, modes[mode], rnd, 400)
		})
	}
	t.Logf("%d rigs, %d free answers", rigs, free)
	if free == 0 {
		t.Error("nothing was free")
	}
}

// FuzzRigs mutates rigs: an example by its number, what to change in it and to what, and a seed for the poses.
func FuzzRigs(f *testing.F) {
	f.Add(uint8(0), []byte{}, uint8(0), uint64(1))
	f.Add(uint8(1), []byte{0, 0, 3, 1, 4, 1, 5, 1}, uint8(1), uint64(2))
	f.Add(uint8(2), []byte{0, 6, 7, 2, 8, 2, 10, 2}, uint8(2), uint64(3))
	f.Add(uint8(3), []byte{1, 1, 2, 1, 13, 1, 14, 1, 12, 1}, uint8(0), uint64(4))
	f.Fuzz(func(t *testing.T, example uint8, data []byte, mode uint8, seed uint64) {
		if model := mutated(t, int(example), data); model != nil {
			tryRig(t, model, modes[int(mode)%len(modes)], rand.New(rand.NewPCG(seed, 1)), 100)
		}
	})
}
