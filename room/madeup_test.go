package room

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// made builds a model of loose parts at a latitude, axes crossing at the world's height of 1500 mm, no tolerances, a margin of
// 30 mm, axes that turn at 3°/s.
func made(t testing.TB, latDeg float64, parts ...rig.Part) *axes.Model {
	t.Helper()
	r := &rig.Rig{Name: "made up"}
	r.MarginMM.Value = 30
	r.Mount.Slew = rig.Slew{RADegPerS: 3, DecDegPerS: 3, SettleS: 10, Order: rig.BothAtOnce}
	r.Mount.Travel.Flip = rig.ThroughPole
	r.Mount.Rules.SideChoice = "as_told"
	for range 5 {
		r.Quantities = append(r.Quantities, &rig.Quantity{})
	}
	r.Site.LatitudeDeg = latDeg
	asm := &rig.Assembly{
		Parts: parts, CrossingMM: [3]float64{0, 0, 1500}, LatitudeDeg: latDeg, AltitudeDeg: math.Abs(latDeg),
		RAZero: 0, DecZero: 1, Cone: 2, PolarAltitude: 3, PolarAzimuth: 4,
	}
	m, err := axes.FromAssembly(r, asm)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// ball is a sphere at x, y, z of its frame.
func ball(name string, f rig.Frame, diameter, x, y, z float64) rig.Part {
	return rig.Part{Name: name, Frame: f, Shape: rig.Sphere, SizeMM: []float64{diameter},
		Place: [12]float64{1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z}}
}

// slab is a box with its axes along its frame's.
func slab(name string, f rig.Frame, sx, sy, sz, x, y, z float64) rig.Part {
	return rig.Part{Name: name, Frame: f, Shape: rig.Box, SizeMM: []float64{sx, sy, sz},
		Place: [12]float64{1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z}}
}

func gaugeFor(t testing.TB, m *axes.Model) *Gauge {
	t.Helper()
	g, err := NewGauge(m, Options{Mode: rig.None})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// worldAt returns the place, world frame, of a tube frame point at a pose.
func worldAt(m *axes.Model, p axes.Pose, x, y, z float64) r3.Vec {
	f := m.Head.TubeFrame(m.Head.Angles(p))
	return f.Apply(r3.Vec{X: x, Y: y, Z: z})
}

// post is a ball where the tail of the tube is at a pose.
func post(t testing.TB, lat float64, p axes.Pose, diameter float64) rig.Part {
	w := worldAt(made(t, lat, tail()), p, 250, 0, -700)
	return ball("post", rig.Ground, diameter, w.X, w.Y, w.Z)
}

// tail is the camera of the made-up rigs: a ball of 60 mm, 700 mm behind the declination axis.
func tail() rig.Part { return ball("camera", rig.TubeFrame, 60, 250, 0, -700) }

func limitsOf(t testing.TB, m *Map) *Limits {
	t.Helper()
	l, err := m.Limits(context.Background(), LimitOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// The closed form: a sphere of centre distance r from the polar axis against a point at distance ρ, axial offset 0:
// cos(H − φ) = (r² + ρ² − (R + c)²)/(2rρ); with all 500 the contact is 60° = 4 h away.
func TestClosedFormOfAnHourAngleLimit(t *testing.T) {
	// The tube sphere at δ = 0 stands on u: its distance from the polar axis is 500.
	s := ball("sphere", rig.TubeFrame, 940, 0, 0, 500) // R = 470, and a margin of 30
	m := made(t, 40, s)
	at := worldAt(m, axes.Pose{Side: axes.West, HourAngle: 0, Dec: 0}, 0, 0, 500)
	m = made(t, 40, s, ball("point", rig.Ground, 2e-6, at.X, at.Y, at.Z))
	g := gaugeFor(t, m)
	c := g.FirstContact(-math.Pi, math.Pi/2, math.Pi/2, math.Pi/2) // θ = H + 90° at δ = 0
	if !c.Found || !c.Sure {
		t.Fatalf("contact %+v", c)
	}
	H := axes.Hours(c.RA - math.Pi/2)
	if H > -4 || H < -4-0.001/15 {
		t.Errorf("contact at %.6f h, want −4 h", H)
	}
	back := g.FirstContact(math.Pi, math.Pi/2+axes.Rad(30), math.Pi/2, math.Pi/2)
	if H := axes.Hours(back.RA - math.Pi/2); !back.Found || H < 4 || H > 4+0.001/15 {
		t.Errorf("from the other end contact at %.6f h, want +4 h", H)
	}
}

// An island of contact far from the meridian does not end the two numbers, is listed, and the pair is not called safe.
func TestIslandIsListed(t *testing.T) {
	const lat = 40
	island := axes.Pose{Side: axes.West, HourAngle: axes.FromHours(-4), Dec: axes.Rad(20)}
	late := axes.Pose{Side: axes.West, HourAngle: axes.FromHours(1), Dec: axes.Rad(40)}
	a, b := post(t, lat, island, 40), post(t, lat, late, 40)
	b.Name = "late post"
	m := mapOf(t, gaugeFor(t, made(t, lat, tail(), a, b)), 0.25)
	l := limitsOf(t, m)
	two := l.Two
	if two.Safe || len(two.Unprotected) != 1 {
		t.Fatalf("two numbers %+v", two)
	}
	i := two.Unprotected[0]
	if i.A != "post" || i.B != "camera" || i.Side != axes.West || i.DecFrom > axes.Rad(20) || i.DecTo < axes.Rad(20) ||
		i.RAFrom > axes.Rad(30) || i.RATo < axes.Rad(30) {
		t.Errorf("island %+v", i)
	}
	// The late post ends the pair: its near edge is (60 + 40)/2 + 30 = 80 mm from its centre, the camera √(250² + …) out.
	if two.West > axes.Rad(105) || two.West < axes.Rad(90) {
		t.Errorf("west limit %.2f°", axes.Deg(two.West))
	}
	if two.StrictWest >= axes.Rad(30) {
		t.Errorf("strict west limit %.2f° does not stop at the island", axes.Deg(two.StrictWest))
	}
	// The run that starts east of the island ends at it, however free it is after.
	row, _ := m.Target(axes.Rad(20), axes.Rad(0.1))
	if len(row.West) < 2 {
		t.Errorf("free hour angles on west: %v", row.West)
	}
	// Side west's first run and side east's one are the pair: together they leave nothing out. Side west's second is the other.
	if o := row.WestOther; row.Stop.HourAngle != row.West[0].To || len(o) != 1 || o[0] != row.West[1] {
		t.Errorf("other runs on west: %v of %v", o, row.West)
	}
	if len(row.EastOther) != 0 {
		t.Errorf("other runs on east: %v of %v", row.EastOther, row.East)
	}
	mine := m.Mine(two.West, two.East, LimitOptions{})
	if mine.Safe || len(mine.Contacts) != 1 {
		t.Errorf("mine: %+v", mine)
	}
	if mine := m.Mine(axes.Rad(10), axes.Rad(10), LimitOptions{}); !mine.Safe {
		t.Errorf("±10°: %+v", mine)
	}
}

// A wall in the west ends the east run, and resume stays before it.
func TestWallEndsTheEastRun(t *testing.T) {
	wall := slab("wall", rig.Ground, 100, 4000, 4000, -700, 0, 2000)
	front := ball("dew shield", rig.TubeFrame, 200, 250, 0, 600)
	m := mapOf(t, gaugeFor(t, made(t, 40, front, wall)), 0.25)
	row, ever := m.Target(0, axes.Rad(0.1))
	if !ever || len(row.East) == 0 {
		t.Fatalf("row %+v", row)
	}
	last := row.East[len(row.East)-1]
	// At δ = 0 in the west the front reaches further than the wall: the run cannot reach the horizon at 6 h.
	if axes.Hours(row.East[0].To) > 5.9 && axes.Hours(last.From) < 6 {
		t.Errorf("east free %v (hours): the wall does not end it", row.East)
	}
	if row.Resume.Reason != ByTravel && row.Resume.Reason != ByHorizon && row.Resume.Reason != ByRoom {
		t.Errorf("resume %+v", row.Resume)
	}
	j := newJudge(m.gauge.Model, 30, rig.None)
	for _, run := range row.East {
		for k := range 200 {
			H := run.From + (run.To-run.From)*(float64(k)+0.5)/200
			if s, _ := j.slack(m.gauge.Model.Head.Angles(axes.Pose{Side: axes.East, HourAngle: H})); s < -1e-3 {
				t.Fatalf("H %.3f h is not free: %v", axes.Hours(H), s)
			}
		}
	}
}

// A circumpolar target with nothing in its way is not "never usable" and not a horizon's; what ends its run is the axis' travel.
func TestCircumpolarAndNeverUp(t *testing.T) {
	m := mapOf(t, gaugeFor(t, made(t, 60, tail(), ball("far", rig.Ground, 10, 5000, 0, 0))), 1)
	row, ever := m.Target(axes.Rad(80), axes.Rad(0.1))
	if !ever || row.Stop.Reason != ByTravel || row.Resume.Reason != ByTravel || row.Idle != 0 || len(row.Flip) == 0 {
		t.Errorf("circumpolar: %+v", row)
	}
	if _, ever := m.Target(axes.Rad(-40), axes.Rad(0.1)); ever {
		t.Error("a target that never rises has a row")
	}
	row, _ = m.Target(axes.Rad(-1), axes.Rad(0.1)) // sets at cos H = tan 60° tan 1°
	if row.Stop.Reason != ByHorizon || row.Resume.Reason != ByHorizon || math.Abs(axes.Hours(row.Stop.HourAngle)-5.896) > 0.02 {
		t.Errorf("near the equator: stop %+v resume %+v", row.Stop, row.Resume)
	}
	// With travel to spare nothing ends the run before lower transit.
	model := made(t, 60, tail(), ball("far", rig.Ground, 10, 5000, 0, 0))
	model.Travel.RAFrom, model.Travel.RATo = -1.6*math.Pi, 1.6*math.Pi
	row, _ = mapOf(t, gaugeFor(t, model), 1).Target(axes.Rad(80), axes.Rad(0.1))
	if row.Stop.Reason != NeverEnds || row.Resume.Reason != NeverEnds {
		t.Errorf("with travel: stop %+v resume %+v", row.Stop, row.Resume)
	}
}

// What ends a run is the horizon only where it stays below it on the rest of its way: not where a gap in the trees, narrower than the step
// that the sky is looked at by, shows it again at a pose that is not free.
func TestGapInTheTrees(t *testing.T) {
	const lat = 40
	contact := axes.Pose{Side: axes.West, HourAngle: axes.FromHours(3), Dec: axes.Rad(11.2)}
	model := made(t, lat, tail(), post(t, lat, contact, 40))
	_, az := axes.AltAz(axes.Direction(axes.Rad(lat), contact.HourAngle, contact.Dec))
	seen := 0
	for off := -0.5; off <= 0.5; off += 0.1 {
		a := axes.Deg(az) + off
		model.Rig.Site.Horizon = rig.Horizon{{0, 10}, {190, 10}, {200, 55}, {a - 0.25, 55}, {a - 0.2, 5}, {a + 0.2, 5}, {a + 0.25, 55}, {300, 55}}
		m := mapOf(t, gaugeFor(t, model), 0.5)
		row, _ := m.Target(contact.Dec, axes.Rad(0.1))
		s, scratch := newSky(model), m.gauge.NewScratch()
		for H := row.West[0].To; H < quarter; H += axes.Rad(0.02) {
			up := s.isUp(H, contact.Dec)
			gap := m.gauge.Gap(model.Head.Angles(axes.Pose{Side: axes.West, HourAngle: H, Dec: contact.Dec}), scratch)
			if !up || gap.Lower >= 30 {
				continue
			}
			if seen++; row.Stop.Reason == ByHorizon {
				t.Fatalf("gap at azimuth %.2f°: ends by the horizon at %.2f h, but is up at %.2f h, %.0f mm", a, axes.Hours(row.Stop.HourAngle), axes.Hours(H), gap.Lower)
			}
			break
		}
	}
	if seen < 5 {
		t.Errorf("only %d gaps show a pose that is not free", seen)
	}
	// Without the gap it sets behind the trees.
	model.Rig.Site.Horizon = rig.Horizon{{0, 10}, {190, 10}, {200, 55}, {300, 55}}
	if row, _ := mapOf(t, gaugeFor(t, model), 0.5).Target(contact.Dec, axes.Rad(0.1)); row.Stop.Reason != ByHorizon {
		t.Errorf("behind whole trees: %+v", row.Stop)
	}
}

// A tower that hides a circumpolar target for a while is no horizon that it sets behind.
func TestTowerIsNoSetting(t *testing.T) {
	model := made(t, 60, tail(), ball("far", rig.Ground, 10, 5000, 0, 0))
	model.Rig.Site.Horizon = rig.Horizon{{0, 0}, {20, 0}, {21, 60}, {30, 60}, {31, 0}}
	model.Travel.RAFrom, model.Travel.RATo = -1.6*math.Pi, 1.6*math.Pi
	row, _ := mapOf(t, gaugeFor(t, model), 1).Target(axes.Rad(75), axes.Rad(0.1))
	if row.Stop.Reason != NeverEnds || row.Resume.Reason != NeverEnds {
		t.Errorf("stop %+v, resume %+v", row.Stop, row.Resume)
	}
}

// Never usable: a target that stands above the horizon, and no free pose for it.
func TestNeverUsable(t *testing.T) {
	cage := ball("cage", rig.Ground, 3000, 0, 0, 1500)
	row, ever := mapOf(t, gaugeFor(t, made(t, 40, tail(), cage)), 1).Target(axes.Rad(20), axes.Rad(0.1))
	if !ever || row.Stop.Reason != NeverUsable || row.Resume.Reason != NeverUsable || len(row.West)+len(row.East) != 0 {
		t.Errorf("caged: %+v, %v", row, ever)
	}
}

// Two posts that the camera passes one after the other: the contact is with whichever comes first, though the other is nearer at
// the start.
func TestNearestPairSwitches(t *testing.T) {
	const lat = 40
	first := axes.Pose{Side: axes.West, HourAngle: axes.FromHours(-1), Dec: axes.Rad(10)}
	m := made(t, lat, tail())
	w := worldAt(m, first, 250, 0, -700)
	// The second stands still nearer at the start of the track, but aside of it.
	start := axes.Pose{Side: axes.West, HourAngle: axes.FromHours(-3), Dec: axes.Rad(10)}
	v := worldAt(m, start, 250, 0, -700-100)
	m = made(t, lat, tail(), ball("ahead", rig.Ground, 40, w.X, w.Y, w.Z), ball("aside", rig.Ground, 20, v.X, v.Y, v.Z))
	g := gaugeFor(t, m)
	a, b := m.Head.Angles(start), m.Head.Angles(first)
	near := g.Nearest(a, 2)
	if m.Parts[near[0].A].Name != "aside" {
		t.Fatalf("nearest at the start: %s", m.Parts[near[0].A].Name)
	}
	c := g.FirstContact(a.RA, b.RA, a.Dec, a.Dec)
	if !c.Found || !c.Sure || m.Parts[c.A].Name != "ahead" {
		t.Errorf("contact %+v", c)
	}
	if gap := g.Gap(axes.Angles{RA: c.RA, Dec: a.Dec}, g.NewScratch()); gap.Lower < 30-1e-3 || gap.Lower > 31 {
		t.Errorf("gap at contact %v mm", gap.Lower)
	}
}

// A track that only grazes the margin ends there as undecided, and not as a sure contact.
func TestGrazingTrack(t *testing.T) {
	const lat = 40
	p := axes.Pose{Side: axes.West, HourAngle: axes.FromHours(-1), Dec: axes.Rad(10)}
	behind := ball("camera", rig.TubeFrame, 60, 0, 0, -700)
	m := made(t, lat, behind)
	// Aside of the path by exactly the two radii and the margin: 30 + 20 + 30 = 80 mm along the tube.
	w := worldAt(m, p, 0, 0, -700-80)
	m = made(t, lat, behind, ball("beside", rig.Ground, 40, w.X, w.Y, w.Z))
	g := gaugeFor(t, m)
	a := m.Head.Angles(p)
	c := g.FirstContact(a.RA-0.5, a.RA+0.5, a.Dec, a.Dec)
	if c.Found && c.Sure {
		t.Errorf("a graze is called a contact: %+v", c)
	}
	// A hundredth of a mm further out it is free, a hundredth nearer a contact.
	for _, d := range []float64{0.01, -0.01} {
		w := worldAt(m, p, 0, 0, -700-80-d)
		g := gaugeFor(t, made(t, lat, behind, ball("beside", rig.Ground, 40, w.X, w.Y, w.Z)))
		c := g.FirstContact(a.RA-0.5, a.RA+0.5, a.Dec, a.Dec)
		if (d > 0 && c.Found) || (d < 0 && !c.Found) {
			t.Errorf("%+.2f mm aside: %+v", d, c)
		}
	}
}

// A flip whose start is free, whose slew is free, but whose arrival pose is blocked a minute later, is not in the window.
func TestFlipArrivalBlockedAMinuteLater(t *testing.T) {
	const lat, dec = 40, 10
	arrive := axes.FromHours(1.0)
	w := worldAt(made(t, lat, tail()), axes.Pose{Side: axes.East, HourAngle: arrive, Dec: axes.Rad(dec)}, 250, 0, -700)
	m := mapOf(t, gaugeFor(t, made(t, lat, tail(), ball("post", rig.Ground, 40, w.X, w.Y, w.Z))), 0.25)
	row, _ := m.Target(axes.Rad(dec), axes.Rad(0.1))
	if len(row.East) < 2 {
		t.Fatalf("east free %v", row.East)
	}
	edge := row.East[0].To // the post ends the first stretch on side east
	dur := m.FlipDuration(axes.Rad(dec), axes.Rad(dec))
	for _, f := range row.Flip {
		if f.From <= edge && f.To > edge-dur {
			t.Errorf("flip window %v h reaches past the last start %v h", f, axes.Hours(edge-dur))
		}
	}
	// By brute force along the flip: every pose of both-at-once paths at the outer rates is free.
	checkFlips(t, m, row, rand.New(rand.NewPCG(7, 7)))
}

// A pair that is called joined and is driven together by the axes gives no limits.
func TestLimitsRefuseAJointThatDoesNotHold(t *testing.T) {
	const lat = 40
	m := made(t, lat, tail(), post(t, lat, axes.Pose{Side: axes.West, HourAngle: axes.FromHours(-2), Dec: axes.Rad(20)}, 40))
	m.Assembly.Joined = [][2]int{{0, 1}}
	if _, err := mapOf(t, gaugeFor(t, m), 1).Limits(context.Background(), LimitOptions{}); !errors.Is(err, ErrJoint) {
		t.Errorf("limits with a joint of post and camera: %v", err)
	}
}

// checkFlips drives flips from random starts in the windows at random rates within the spread and judges every pose.
func checkFlips(t *testing.T, m *Map, row Row, rnd *rand.Rand) {
	t.Helper()
	j := newJudge(m.gauge.Model, m.gauge.MarginMM, m.gauge.Mode)
	s := m.gauge.slew()
	h := &m.gauge.Model.Head
	for _, f := range row.Flip {
		for range 10 {
			H := f.From + rnd.Float64()*(f.To-f.From)
			dec := row.DecFrom + rnd.Float64()*(row.DecTo-row.DecFrom)
			a := h.Angles(axes.Pose{Side: axes.West, HourAngle: H, Dec: dec})
			late := rnd.Float64() * m.FlipDuration(row.DecFrom, row.DecTo)
			b := h.Angles(axes.Pose{Side: axes.East, HourAngle: H + late, Dec: dec})
			if slack, who := j.worstOnPath(a, b, s, m.gauge.Model.Rig.Mount.Slew.Order, rnd); slack < -1e-3 {
				t.Fatalf("flip at %.3f h, δ %.2f°: %s to %s %v mm below", axes.Hours(H), axes.Deg(dec),
					m.gauge.Model.Parts[who.a].Name, m.gauge.Model.Parts[who.b].Name, slack)
			}
		}
	}
}

// worstOnPath drives one slew in steps of 0.5° by a random path that the order allows, and returns the least slack.
func (j *judge) worstOnPath(a, b axes.Angles, s slewing, o rig.Order, rnd *rand.Rand) (float64, judged) {
	worst, who := math.Inf(1), judged{}
	look := func(g axes.Angles) {
		if x, w := j.slack(g); x < worst {
			worst, who = x, w
		}
	}
	line := func(a, b axes.Angles) {
		n := int(math.Max(math.Abs(b.RA-a.RA), math.Abs(b.Dec-a.Dec))/axes.Rad(0.5)) + 1
		for i := 0; i <= n; i++ {
			f := float64(i) / float64(n)
			look(axes.Angles{RA: a.RA + f*(b.RA-a.RA), Dec: a.Dec + f*(b.Dec-a.Dec)})
		}
	}
	over := axes.Angles{
		RA:  b.RA + math.Copysign(rnd.Float64()*s.overshoot, b.RA-a.RA),
		Dec: b.Dec + math.Copysign(rnd.Float64()*s.overshoot, b.Dec-a.Dec),
	}
	if o == rig.UnknownOrder || o == "" {
		o = []rig.Order{rig.BothAtOnce, rig.RAFirst, rig.DecFirst}[rnd.IntN(3)]
	}
	switch o {
	case rig.RAFirst:
		line(a, axes.Angles{RA: over.RA, Dec: a.Dec})
		line(axes.Angles{RA: over.RA, Dec: a.Dec}, over)
	case rig.DecFirst:
		line(a, axes.Angles{RA: a.RA, Dec: over.Dec})
		line(axes.Angles{RA: a.RA, Dec: over.Dec}, over)
	case anyOrder:
		mid := axes.Angles{RA: a.RA + rnd.Float64()*(over.RA-a.RA), Dec: a.Dec + rnd.Float64()*(over.Dec-a.Dec)}
		line(a, mid)
		line(mid, over)
	default:
		ratio := s.ra / s.dec * (1 + s.spread*(2*rnd.Float64()-1))
		x, y := math.Abs(over.RA-a.RA), math.Abs(over.Dec-a.Dec)
		mid := over
		if x > ratio*y {
			mid.RA = a.RA + math.Copysign(ratio*y, over.RA-a.RA)
		} else {
			mid.Dec = a.Dec + math.Copysign(x/ratio, over.Dec-a.Dec)
		}
		line(a, mid)
		line(mid, over)
	}
	line(over, b)
	return worst, who
}
