package report

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"legroom/axes"
	"legroom/room"
)

// Sampler answers for one pose: a proven lower bound of every gap with the tolerances taken off, mm, and the state of the
// map's cell that holds it. One goroutine uses it at a time.
type Sampler func(ax axes.Angles) (gapMM float64, state room.State)

// MapSampler returns a source of samplers that read a map and its gauge.
func MapSampler(m *room.Map) func() Sampler {
	g := m.Gauge()
	return func() Sampler {
		s := g.NewScratch()
		return func(ax axes.Angles) (float64, room.State) { return g.Gap(ax, s).Lower, m.State(ax) }
	}
}

// Point is what a grid knows of one pose.
type Point struct {
	GapMM       float32
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

// Gap returns the gap at a pose between the points, by bilinear interpolation: for colours and contours only. NaN where a
// neighbour cannot be reached.
func (g *Grid) Gap(hourAngle, dec float64) float64 {
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
		sum += c.w * float64(p.GapMM)
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
					gap, state := sample(ax)
					p.GapMM, p.State = float32(gap), state
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
