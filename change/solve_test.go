package change

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"legroom/axes"
	"legroom/load"
	"legroom/rig"
	"legroom/room"
	"legroom/solid/fcl"
)

// The least riser on example (a) that leaves no idle time: half a millimetre less is proven not to do. What is taken has its flips proven
// besides, and is no lower.
func TestLeastRiser(t *testing.T) {
	s, out := searched(t, problem(t, terrace, "no-idle above 30", "riser=0..300"))
	if out.Best == nil || !out.Best.Meets() {
		t.Fatalf("best %+v", out.Best)
	}
	least := out.Best.X[0]
	for _, p := range out.Points {
		if s.vars[0].From <= p.X[0] && p.Miss <= meets && p.X[0] < least {
			if least = p.X[0]; p.Breaks == "" {
				t.Errorf("riser %v mm does, and %v was taken", least, out.Best.X[0])
			}
		}
	}
	t.Logf("riser %.2f mm; without idle time, flips aside, %.2f mm; proven: none below %.2f mm", out.Best.X[0], least, out.Bound)
	if least-out.Bound > 0.5 {
		t.Errorf("riser %v mm, and none below %v mm: more than half a millimetre between them", least, out.Bound)
	}
	for _, by := range []float64{0.5, 1, 5, 30} {
		miss, _, _, err := s.at(context.Background(), []float64{least - by}, finest, 0)
		if err != nil {
			t.Fatal(err)
		}
		if miss <= meets {
			t.Errorf("%v mm lower meets the aim too", by)
		}
	}
}

// Solver against brute force: never worse than the grid by more than its tolerance, and no point of the grid below the bound.
func TestAgainstGrid(t *testing.T) {
	type asked struct {
		file, aim string
		vars      []string
		n         int
	}
	list := []asked{
		{terrace, "least-idle above 30", []string{"leg-azimuth=-60..60"}, 7},
		{"../examples/karoo-newtonian.yaml", "most-room", []string{"slide=-60..60"}, 5},
		{terrace, "no-idle above 30", []string{"riser=0..300", "leg-azimuth=-60..60"}, 4}, // flips decide: the least idle time leads elsewhere
	}
	if *grid > 0 {
		list = nil
		for _, file := range examples(t) {
			vars := variablesOf(file)
			for _, aim := range []string{"most-room", "least-idle", "no-idle above 30"} {
				for _, v := range vars[:4] {
					list = append(list, asked{file, aim, []string{v}, *grid})
				}
				list = append(list, asked{file, aim, vars[:2], max(5, *grid/4)}, asked{file, aim, vars[:3], max(3, *grid/8)})
			}
		}
	}
	for _, c := range list {
		p := problem(t, c.file, c.aim, c.vars...)
		if *grid == 0 {
			p.Work = 250
		}
		s, out := searched(t, p)
		xs := [][]float64{{}}
		for i := range s.vars {
			var more [][]float64
			for _, x := range xs {
				for k := range c.n {
					more = append(more, append(slices.Clone(x), s.vars[i].From+(s.vars[i].To-s.vars[i].From)*float64(k)/float64(c.n-1)))
				}
			}
			xs = more
		}
		least, at := math.Inf(1), []float64(nil)
		misses := make([]float64, len(xs))
		room.InParallel(len(xs), func(i int) {
			var err error
			if misses[i], _, _, err = s.at(context.Background(), xs[i], 0.25, 0); err != nil {
				misses[i] = math.Inf(1)
			}
		})
		cheapest := math.Inf(1) // by the idle time of the runs alone: what the bound is of
		looked := newSearch(s, nil)
		for i, x := range xs {
			v := misses[i]
			if s.p.Aim.Cheapest() {
				if v > meets {
					continue
				}
				v = s.price(x)
				cheapest = math.Min(cheapest, v)
				if v < out.Best.Price-out.Within { // it has to have its flips proven
					why, err := looked.unflipped(context.Background(), &Point{X: x})
					if err != nil {
						t.Fatal(err)
					}
					if why != "" {
						continue
					}
				}
			}
			if v < least {
				least, at = v, x
			}
		}
		if cheapest < out.Bound-1e-9 {
			t.Errorf("%s %s %v: bound %v, and the grid meets it for %v", c.file, c.aim, c.vars, out.Bound, cheapest)
		}
		best, tolerance := out.Best.Miss, out.Within
		if s.p.Aim.Cheapest() {
			best = math.Inf(1)
			if out.Best.Meets() {
				best = out.Best.Price
			}
			if out.Impossible && !math.IsInf(least, 1) {
				t.Errorf("%s %s %v: called impossible, and %v does", c.file, c.aim, c.vars, at)
			}
		}
		t.Logf("%s %s %v: best %v at %v, grid %v at %v, bound %v", c.file, c.aim, c.vars, best, out.Best.X, least, at, out.Bound)
		if best > least+tolerance {
			t.Errorf("%s %s %v: %v at %v, and the grid has %v at %v", c.file, c.aim, c.vars, best, out.Best.X, least, at)
		}
		if least < out.Bound-1e-9 {
			t.Errorf("%s %s %v: bound %v, and the grid has %v at %v", c.file, c.aim, c.vars, out.Bound, least, at)
		}
	}
}

// What meets an aim of no idle time changes sides by a proven flip, whatever is above the altitude; what would be cheaper without one is
// told to lack it.
func TestNoIdleWithoutAFlipIsNone(t *testing.T) {
	p := problem(t, terrace, "no-idle above 30", "riser=0..300")
	p.Work = 60
	s, out := searched(t, p)
	if out.Best == nil || !out.Best.Meets() || out.Bound > out.Best.Price {
		t.Fatalf("%+v, bound %v", out.Best, out.Bound)
	}
	lacks := 0
	for _, q := range out.Points {
		if strings.Contains(q.Breaks, "no flip is proven for declinations") && q.Miss <= meets && q.Price < out.Best.Price {
			lacks++
		}
	}
	if lacks == 0 {
		t.Error("no cheaper riser was left out for want of a flip: this shows nothing")
	}
	g, err := s.gaugeAt(out.Best.X)
	if err != nil {
		t.Fatal(err)
	}
	m, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 0.25})
	if err != nil {
		t.Fatal(err)
	}
	flips := 0
	for _, b := range s.bands {
		row, _ := m.Target((b.from+b.to)/2, (b.to-b.from)/2)
		up := b.high[len(b.high)-1]
		switch {
		case len(row.Flip) > 0:
			flips++
		case slices.ContainsFunc(slices.Concat(row.West, row.East), func(i room.Interval) bool { return i.From <= up.From && i.To >= up.To }):
		default:
			t.Errorf("declination %v to %v: neither a flip nor one run as long as it is above: %+v", axes.Deg(b.from), axes.Deg(b.to), row)
		}
	}
	if flips == 0 {
		t.Error("nothing flips: this shows nothing")
	}
}

// Turning the tripod of example (a) for the target at the zenith: what is called free all along its two runs has, by FCL, the gaps that
// it takes; and as it stands, near the meridian on side west, it has not.
func TestAzimuthByFCL(t *testing.T) {
	program := fcl.Open(t)
	p := problem(t, terrace, "no-idle", "leg-azimuth=-60..60")
	zenith := Target{Name: "zenith", Dec: axes.Rad(36.9), Half: dither}
	p.Ask.Targets = []Target{zenith}
	s, out := searched(t, p)
	if out.Best == nil || !out.Best.Meets() || out.Off() < 0 || out.Bound <= 0 { // the bound is of idle time without flips: it may be far below
		t.Fatalf("best %+v, bound %v", out.Best, out.Bound)
	}
	t.Logf("first leg to %.2f°, proven: less than %.2f° does not do", out.Best.X[0], out.Bound/out.Price[0])
	// short is by how much, mm, the nearest pair of any pose falls short of margin and allowance by FCL, negative when none does.
	short := func(g *room.Gauge, poses []axes.Pose) float64 {
		m := g.Model
		part := func(i int, at axes.Angles) fcl.Part {
			q := m.Parts[i].Rig
			return fcl.Part{Kind: string(q.Shape), Size: q.SizeMM, Place: m.PartPose(i, at).Place()}
		}
		var pairs []fcl.Pair
		var need []float64
		for _, pose := range poses {
			at := m.Head.Angles(pose)
			for _, q := range g.Nearest(at, g.Pairs()) {
				if q.Gap < 150 { // by our own measure the others are far
					pairs = append(pairs, fcl.Pair{A: part(q.A, at), B: part(q.B, at)})
					need = append(need, g.MarginMM+q.Allowance)
				}
			}
		}
		answers, err := program.Pairs(pairs)
		if err != nil {
			t.Fatal(err)
		}
		worst := math.Inf(-1)
		for i, a := range answers {
			worst = math.Max(worst, need[i]-a.Distance)
		}
		return worst
	}
	g, err := s.gaugeAt(out.Best.X)
	if err != nil {
		t.Fatal(err)
	}
	m, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: finest})
	if err != nil {
		t.Fatal(err)
	}
	row, _ := m.Target(zenith.Dec, zenith.Half)
	if row.Idle != 0 || row.Stop.HourAngle <= row.Resume.HourAngle {
		t.Fatalf("stop %v, resume %v, idle %v", row.Stop, row.Resume, row.Idle)
	}
	var poses []axes.Pose
	for k := range 60 {
		u := float64(k) / 59
		poses = append(poses,
			axes.Pose{Side: axes.West, HourAngle: row.Stop.HourAngle - u, Dec: zenith.Dec},
			axes.Pose{Side: axes.East, HourAngle: row.Resume.HourAngle + u, Dec: zenith.Dec})
	}
	if x := short(g, poses); x > 1e-3 {
		t.Errorf("turned to %v°: a pose that is called free falls %v mm short", out.Best.X[0], x)
	}
	now, err := s.gaugeAt([]float64{0})
	if err != nil {
		t.Fatal(err)
	}
	if x := short(now, []axes.Pose{{Side: axes.West, HourAngle: 0, Dec: zenith.Dec}}); x <= 0 {
		t.Errorf("as it stands the zenith is free on side west by FCL, %v mm", x)
	}
	// Half a degree short of what the bound says it takes, FCL finds a pose of the idle time that is not free on either side.
	less := math.Copysign(math.Max(0, out.Bound/out.Price[0]-0.5), out.Best.X[0])
	before, err := s.gaugeAt([]float64{less})
	if err != nil {
		t.Fatal(err)
	}
	if m, err = room.NewMap(context.Background(), before, room.MapOptions{CellDeg: finest}); err != nil {
		t.Fatal(err)
	}
	row, _ = m.Target(zenith.Dec, 0)
	if row.Idle > 0 {
		mid := (row.Stop.HourAngle + row.Resume.HourAngle) / 2
		for _, side := range []axes.Side{axes.West, axes.East} {
			if x := short(before, []axes.Pose{{Side: side, HourAngle: mid, Dec: zenith.Dec}}); x <= -1e-3 {
				t.Errorf("at %v° the middle of the idle time is free on side %v by FCL, by %v mm", less, side, -x)
			}
		}
	}
}

// Only the bearings that the head allows are taken; pegs a third of a turn apart are the same tripod.
func TestPegs(t *testing.T) {
	p := problem(t, terrace, "least-idle", "leg-azimuth=-60..60")
	if err := p.Document.Set("support.allowed_bearings_deg", "[0, 90, 200]"); err != nil {
		t.Fatal(err)
	}
	p.Work = 120
	s, out := searched(t, p)
	if want := []float64{-40, -30, 0}; !slices.Equal(s.vars[0].Only, want) {
		t.Fatalf("pegs %v, want %v", s.vars[0].Only, want)
	}
	if !slices.Contains(s.vars[0].Only, out.Best.X[0]) || out.Best.X[0] == 0 {
		t.Errorf("best %v", out.Best)
	}
	for _, q := range out.Points {
		if !slices.Contains(s.vars[0].Only, q.X[0]) {
			t.Errorf("looked at %v, which is no peg", q.X)
		}
	}
}

// Side constraints: what breaks one is never the best, and what is not known breaks it.
func TestLimits(t *testing.T) {
	p := problem(t, terrace, "most-room", "riser=0..300")
	p.Limits.PushN = 70
	p.Variables[0].Only = []float64{0, 100, 150, 300}
	p.Work = 30
	_, out := searched(t, p)
	if out.Best == nil || out.Best.Breaks != "" || out.Best.X[0] != 100 {
		t.Errorf("best %+v", out.Best)
	}
	p = problem(t, terrace, "most-room", "leg-azimuth=-60..60")
	p.Limits.PushN = 1e5
	p.Variables[0].Only = []float64{-30, 30}
	p.Work = 30
	if _, out = searched(t, p); out.Best != nil || !math.IsInf(out.Off(), 1) {
		t.Errorf("nothing stands that push, but %+v does", out.Best)
	}
	for _, c := range []struct {
		still, moving string
		anchored      bool
		want          string
	}{{"", "", false, ""}, {"tripod", "", false, ""}, {"tripod", "saddle", false, "what tips it is not known: there is no mass for saddle"}, {"", "saddle", true, ""}} {
		x := Load{Tipping: &load.Tipping{Push: load.Edge{Bound: 90}, Anchored: c.anchored}}
		if c.still != "" {
			x.Tipping.Missing = append(x.Tipping.Missing, c.still)
		}
		if c.moving != "" {
			x.Tipping.Missing, x.Balance.Missing = append(x.Tipping.Missing, c.moving), append(x.Balance.Missing, c.moving)
		}
		if got := (Limits{PushN: 70}).broken(&x, 0); got != c.want {
			t.Errorf("no mass for %q and %q, anchored %v: %q", c.still, c.moving, c.anchored, got)
		}
	}
}

// The best is measured from the text of the changed document, and the riser is held against turning.
func TestSolve(t *testing.T) {
	p := problem(t, terrace, "no-idle", "riser=0..300")
	p.Work = 100
	p.Ask.Targets = []Target{{Name: "zenith", Dec: axes.Rad(36.9), Half: dither}}
	last := 0.0
	out, err := Solve(context.Background(), p, func(q Progress) {
		if q.Done < last {
			t.Errorf("progress goes back from %v to %v", last, q.Done)
		}
		last = q.Done
	})
	if err != nil {
		t.Fatal(err)
	}
	if out.Result == nil || out.Result.Targets[0].Row.Idle != 0 || out.Result.Rig.Support.Extension.HeightMM.Value != out.Best.X[0] {
		t.Errorf("best %+v, measured %+v", out.Best, out.Result)
	}
	again, err := rig.Parse(out.Result.Document, terrace)
	if err != nil || again.Fingerprint() != out.Result.Fingerprint {
		t.Errorf("the document is not that of the best: %v", err)
	}
	if u := out.Turning; u == nil || !u.Enough || !u.AsGood || u.Turn.Best.Price >= out.Best.Price {
		t.Errorf("turning %+v", u)
	}
	if len(out.Assumed) != 1 {
		t.Errorf("assumed %q", out.Assumed)
	}
	for i := 1; i < len(out.Front); i++ {
		if a, b := out.Front[i-1], out.Front[i]; a.Takes > b.Takes || a.Point.Miss <= b.Point.Miss || a.AtBest < b.AtBest {
			t.Errorf("the front goes from %+v to %+v", a, b)
		}
	}
}

// The best misses the aim by as much wherever its figure stands: among the points, in the trade-off, and measured from its document.
func TestOneFigureForTheBest(t *testing.T) {
	p := problem(t, terrace, "least-idle", "leg-azimuth=-60..60")
	p.Work = 60
	out, err := Solve(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	same := 0
	for _, q := range out.Points {
		if slices.Equal(q.X, out.Best.X) {
			same++
			if math.Abs(q.Miss-out.Best.Miss) > meets {
				t.Errorf("the best, %v, leaves %v, and %v among the points", q.X, out.Best.Miss, q.Miss)
			}
		}
	}
	for _, f := range out.Front {
		if slices.Equal(f.Point.X, out.Best.X) {
			same++
			if math.Abs(f.Point.Miss-out.Best.Miss) > meets {
				t.Errorf("the best, %v, leaves %v, and %v in the trade-off", f.Point.X, out.Best.Miss, f.Point.Miss)
			}
		}
	}
	if out.Best.Miss <= meets || same != 2 {
		t.Errorf("best %+v, found in %d places", out.Best, same)
	}
}

func TestSolveStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	n := 0
	_, err := Solve(ctx, problem(t, terrace, "most-room", "leg-azimuth=-60..60"), func(Progress) {
		if n++; n == 2 {
			cancel()
		}
	})
	if err != context.Canceled {
		t.Error(err)
	}
}

func BenchmarkSolveThree(b *testing.B) {
	p := problem(b, terrace, "no-idle above 30", "riser=0..300", "leg-azimuth=-60..60", "slide=-80..80")
	for b.Loop() {
		if _, err := Solve(context.Background(), p, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// The chart of one variable as the command draws it.
func BenchmarkChart(b *testing.B) {
	p := problem(b, terrace, "no-idle above 30", "riser=0..300")
	for b.Loop() {
		if _, err := NewScan(context.Background(), p, 41, 0.5, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// What the cells of a map show of flips by themselves is what looking finely shows.
func TestHeldIsProven(t *testing.T) {
	rnd := seeded(t)
	p := problem(t, terrace, "no-idle above 30", "riser=0..300", "leg-azimuth=-60..60")
	s, err := newSpace(&p)
	if err != nil {
		t.Fatal(err)
	}
	held := 0
	for range 3 {
		g, err := s.gaugeAt([]float64{100 + 200*rnd.Float64(), -60 + 120*rnd.Float64()})
		if err != nil {
			t.Fatal(err)
		}
		m, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 0.25})
		if err != nil {
			t.Fatal(err)
		}
		for i := 0; i < len(s.bands); i += 1 + rnd.IntN(8) {
			b := &s.bands[i]
			if !b.held(m) {
				continue
			}
			held++
			if row, rises := m.Target((b.from+b.to)/2, (b.to-b.from)/2); rises && len(row.Flip) == 0 && changesSides(&row, b) {
				t.Errorf("declination %v to %v is called held, and finely it is %+v", axes.Deg(b.from), axes.Deg(b.to), row)
			}
		}
	}
	if held < 10 {
		t.Errorf("%d bands held: this shows nothing", held)
	}
}
