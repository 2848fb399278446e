package report

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Sample is what is known of one pose. Gaps are proven lower bounds with the tolerances taken off, mm.
type Sample struct {
	GapMM    float64    // of every pair
	AcrossMM float64    // of the pairs across: tube or arm to the ground, tube to the head; +Inf when there is none
	Pair     [2]int     // the pair that AcrossMM is of, indices in Model.Parts
	State    room.State // of the map's cell that holds it
}

// Sampler answers for one pose. One goroutine uses it at a time.
type Sampler func(ax axes.Angles) Sample

// MapSampler returns a source of samplers that read a map and its gauge.
//
// Parts that sit side by side on the mount, such as a motor box and the polar housing, keep much the same small gap at
// every pose, and would paint the whole sky in one colour. So the gauge is taken apart: into the pairs across, which
// pictures show, and those side by side, of the head and the arm (which the RA axis alone moves) and of the arm and the tube
// (the declination axis alone).
func MapSampler(m *room.Map) func() Sampler {
	g := m.Gauge()
	across := only(g, func(a, b rig.Frame) bool {
		return (a == rig.Ground && b != rig.Polar) || (a == rig.Polar && b == rig.TubeFrame)
	})
	head := only(g, func(a, b rig.Frame) bool { return a == rig.Polar && b == rig.Arm })
	arm := only(g, func(a, b rig.Frame) bool { return a == rig.Arm && b == rig.TubeFrame })
	return func() Sampler {
		s, h, t := across.NewScratch(), head.NewScratch(), arm.NewScratch()
		byRA, byDec := map[float64]float64{}, map[float64]float64{}
		return func(ax axes.Angles) Sample {
			x, pair := least(across, ax, s)
			beside := math.Min(once(byRA, ax.RA, func() float64 { x, _ := least(head, ax, h); return x }),
				once(byDec, ax.Dec, func() float64 { x, _ := least(arm, ax, t); return x }))
			return Sample{GapMM: math.Min(x, beside), AcrossMM: x, Pair: pair, State: m.State(ax)}
		}
	}
}

// least is the least gap of a gauge and the pair that has it; +Inf when it has no pairs.
func least(g *room.Gauge, ax axes.Angles, s *room.Scratch) (mm float64, pair [2]int) {
	if g.Pairs() == 0 {
		return math.Inf(1), pair
	}
	gap := g.Gap(ax, s)
	return gap.Lower, gap.LowerPair
}

func once(known map[float64]float64, at float64, f func() float64) float64 {
	x, ok := known[at]
	if !ok {
		x = f()
		known[at] = x
	}
	return x
}

// only returns the part of a gauge that knows the pairs of some frames: it counts the others as joined. Frames come in the
// order ground, polar, arm, tube.
func only(g *room.Gauge, keep func(a, b rig.Frame) bool) *room.Gauge {
	m, asm := *g.Model, *g.Model.Assembly
	asm.Joined = slices.Clone(asm.Joined)
	order := []rig.Frame{rig.Ground, rig.Polar, rig.Arm, rig.TubeFrame}
	for i := range m.Parts {
		for j := range m.Parts {
			a, b := m.Parts[i].Frame, m.Parts[j].Frame
			if slices.Index(order, a) < slices.Index(order, b) && !keep(a, b) {
				asm.Joined = append(asm.Joined, [2]int{min(i, j), max(i, j)})
			}
		}
	}
	m.Assembly = &asm
	part, err := room.NewGauge(&m, room.Options{Mode: g.Mode, MarginMM: g.MarginMM})
	if err != nil {
		panic(err) // its options come from a gauge
	}
	return part
}

// Point is what a grid knows of one pose.
type Point struct {
	GapMM       float32 // as Sample
	AcrossMM    float32
	Pair        [2]int16
	State       room.State
	Unreachable bool // outside the travel of the axes, by whole turns either way; the rest means nothing then
}

// Grid is one side's poses, hour angle −180°…180° by declination −90°…90°, each point at the centre of its field.
type Grid struct {
	Side          axes.Side
	Columns, Rows int
	Points        []Point // row by row, least declination first
}

// HourAngle of column i and Dec of row j, radians.
func (g *Grid) HourAngle(i int) float64 {
	return 2*math.Pi*(float64(i)+0.5)/float64(g.Columns) - math.Pi
}
func (g *Grid) Dec(j int) float64 { return math.Pi*(float64(j)+0.5)/float64(g.Rows) - math.Pi/2 }

// At returns the point of column i and row j.
func (g *Grid) At(i, j int) Point { return g.Points[j*g.Columns+i] }

// Near returns the point whose field holds a pose.
func (g *Grid) Near(hourAngle, dec float64) Point {
	i := int((axes.Wrap(hourAngle) + math.Pi) / (2 * math.Pi) * float64(g.Columns))
	j := int((dec + math.Pi/2) / math.Pi * float64(g.Rows))
	return g.At(max(0, min(i, g.Columns-1)), max(0, min(j, g.Rows-1)))
}

// Across returns the gap across at a pose between the points, by bilinear interpolation: for colours and contours only. NaN
// where a neighbour cannot be reached.
func (g *Grid) Across(hourAngle, dec float64) float64 {
	x := (axes.Wrap(hourAngle)+math.Pi)/(2*math.Pi)*float64(g.Columns) - 0.5
	y := math.Max(0, math.Min((dec+math.Pi/2)/math.Pi*float64(g.Rows)-0.5, float64(g.Rows-1)))
	i, j := math.Floor(x), math.Floor(y)
	fx, fy := x-i, y-j
	sum := 0.0
	for _, c := range []struct{ i, j, w float64 }{{i, j, (1 - fx) * (1 - fy)}, {i + 1, j, fx * (1 - fy)}, {i, j + 1, (1 - fx) * fy}, {i + 1, j + 1, fx * fy}} {
		if c.w == 0 {
			continue
		}
		p := g.At((int(c.i)+g.Columns)%g.Columns, min(int(c.j), g.Rows-1))
		if p.Unreachable {
			return math.NaN()
		}
		sum += c.w * float64(p.AcrossMM)
	}
	return sum
}

// GridOptions says how fine a grid is.
type GridOptions struct {
	StepDeg  float64            // of hour angle and declination; 1 when 0
	Workers  int                // goroutines; as many as processors when 0
	Progress func(done float64) // called now and then with the share done, from one goroutine at a time
}

// NewGrid asks a sampler for every pose of a side's grid, in parallel. It stops early with ctx's error when ctx ends.
func NewGrid(ctx context.Context, head *axes.Head, travel axes.Travel, side axes.Side, sampler func() Sampler, o GridOptions) (*Grid, error) {
	if o.StepDeg == 0 {
		o.StepDeg = 1
	}
	if !(o.StepDeg >= 0.1 && o.StepDeg <= 10) {
		return nil, fmt.Errorf("grid step of %v°: give 0.1 to 10", o.StepDeg)
	}
	g := &Grid{Side: side, Columns: int(math.Ceil(360/o.StepDeg - 1e-9)), Rows: int(math.Ceil(180/o.StepDeg - 1e-9))}
	g.Points = make([]Point, g.Columns*g.Rows)
	workers := o.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	var next, done atomic.Int64
	var report sync.Mutex
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			sample := sampler()
			for ctx.Err() == nil {
				j := int(next.Add(1)) - 1
				if j >= g.Rows {
					return
				}
				for i := range g.Columns {
					ax := head.Angles(axes.Pose{Side: side, HourAngle: g.HourAngle(i), Dec: g.Dec(j)})
					p := &g.Points[j*g.Columns+i]
					if !reachable(travel, ax) {
						p.Unreachable = true
						continue
					}
					s := sample(ax)
					p.GapMM, p.AcrossMM, p.State = float32(s.GapMM), float32(s.AcrossMM), s.State
					p.Pair = [2]int16{int16(s.Pair[0]), int16(s.Pair[1])}
				}
				if o.Progress != nil {
					report.Lock()
					o.Progress(float64(done.Add(1)) / float64(g.Rows))
					report.Unlock()
				}
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return g, nil
}

// reachable tells whether the axes come to ax by whole turns of either.
func reachable(t axes.Travel, ax axes.Angles) bool {
	ra, dec := false, false
	for k := -2.0; k <= 2; k++ {
		x, y := ax.RA+k*2*math.Pi, ax.Dec+k*2*math.Pi
		ra = ra || (t.RAFrom <= x && x <= t.RATo)
		dec = dec || (t.DecFrom <= y && y <= t.DecTo)
	}
	return ra && dec
}
