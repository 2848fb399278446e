package load

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/solid"
)

// Cable is how far one cable must reach, from its plug by its ties to its box, straight from each to the next.
//
// A cable that lies round a housing needs more than the straight line through it, one that hangs needs its loop, and axes that
// turn more than once about wind it up: none of that is in the reach. What hangs Loops looks at; gaps do not see cables.
type Cable struct {
	Name     string
	LengthMM float64 // less what it may be shorter by its tolerance
	Spans    []Span

	// Reach is the longest path over all used poses, for a cable that runs freely through its ties: found, and proven to be no longer.
	// Least is the shortest one found.
	Reach, Least Reach
	// TiedMM is the length that a cable needs that is held fast at each tie: the sum of its spans at their longest, proven.
	TiedMM float64
	// SlackMM and TiedSlackMM are what the cable is longer than that, proven; negative: it pulls.
	SlackMM, TiedSlackMM float64

	Tie *Suggestion // a further tie that would make the loops smaller; nil when none does
}

// Reach is a length at the pose that gives it.
type Reach struct {
	At               axes.Angles
	ValueMM, BoundMM float64
}

// Span is one straight piece of a cable.
type Span struct {
	From, To string  // what holds its ends
	Longest  Reach   // leave at least BoundMM of cable between the two ties
	LeastMM  float64 // the shortest: the rest hangs as a loop
	ByRA     bool    // the axes that change it
	ByDec    bool
	LoopMM   float64 // what hangs at its shortest, when it is just long enough at its longest
	HangsMM  float64 // no point of such a loop is farther than this from the nearer of its two ties

	Left, Loose *Loop // as Loops finds them; nil before
}

// Suggestion is a further tie on a part.
type Suggestion struct {
	Part   string
	AtMM   r3.Vec  // from the part's centre along its own axes
	After  string  // the anchor behind which it comes
	LoopMM float64 // the greatest loop of the spans that it makes of one
	WasMM  float64 // the loop of that span without it
	TiedMM float64 // what the cable then needs, held fast at each tie
}

// hold is an anchor as a point of a frame.
type hold struct {
	name  string
	part  string // "" for a place in a frame
	frame rig.Frame
	at    r3.Vec
	// How far it moves a radian of each axis, mm.
	byRA, byDec float64
}

// holdOf places an anchor; path is its own in the document.
func (l *Load) holdOf(a *rig.Anchor, path string) (hold, error) {
	var at r3.Vec
	if len(a.AtMM) == 3 {
		at = r3.Vec{X: a.AtMM[0], Y: a.AtMM[1], Z: a.AtMM[2]}
	}
	if a.Part == "" {
		if a.Frame == rig.TubeFrame { // measured from the saddle's face
			at.X += l.Model.Rig.Mount.SaddleDistanceMM.Value
		}
		return newHold(string(a.Frame), a.Frame, at), nil
	}
	i := l.index(a.Part)
	if i < 0 {
		return hold{}, fmt.Errorf("%s: %s: the part %q is not there under these conditions; hold the cable by another", l.Model.Rig.Path, path, a.Part)
	}
	p := &l.Model.Parts[i]
	h := newHold(p.Name, p.Frame, p.Place.Apply(at))
	h.part = p.Name
	return h, nil
}

func newHold(name string, frame rig.Frame, at r3.Vec) hold {
	h := hold{name: name, frame: frame, at: at}
	switch frame {
	case rig.Arm:
		h.byRA = math.Hypot(at.X, at.Y)
	case rig.TubeFrame:
		h.byRA, h.byDec = r3.Norm(at), math.Hypot(at.Y, at.Z)
	}
	return h
}

// turned tells whether the RA axis turns the frame.
func (h *hold) turned() bool { return h.frame == rig.Arm || h.frame == rig.TubeFrame }

// moved tells which axes change the distance of two holds: what one axis turns alike stays alike.
func moved(a, b *hold) (byRA, byDec bool) {
	if a.frame == b.frame {
		return false, false
	}
	return a.turned() != b.turned() && a.byRA+b.byRA > 0, a.byDec+b.byDec > 0
}

// distance returns how far two holds are apart at a pose, and bounds of that while each axis turns by up to h.
//
// With D the vector between them, J_θ and J_β how fast the axes carry it, and K a bound of what is beyond the first order (as in the room
// map: ½h²|X| + h²ρ + ½h²ρ for each end), |D + δ| lies, for n = D/|D|, between |D| − h·(|n·J_θ| + |n·J_β|) − K and
// |D| + h·(|n·J_θ| + |n·J_β|) + h²·(|J_θ| + |J_β|)²/2|D| + K; and never further from |D| than h·(|J_θ| + |J_β|) + K.
func (l *Load) distance(a, b *hold, at *places, h float64) (d, least, most float64) {
	head := &l.Model.Head
	x, y := at.of(a), at.of(b)
	v := r3.Sub(x, y)
	d = r3.Norm(v)
	byRA, byDec := moved(a, b)
	if h == 0 || !byRA && !byDec || d == 0 {
		far := 1e-9 // rounding
		if d == 0 {
			far += h * (a.byRA + b.byRA + a.byDec + b.byDec)
		}
		return d, d - far, d + far
	}
	var slope, reach, curve float64
	turn := func(axis r3.Vec, moves func(*hold) bool) {
		var j r3.Vec
		if moves(a) {
			j = r3.Cross(axis, r3.Sub(x, head.Crossing))
		}
		if moves(b) {
			j = r3.Sub(j, r3.Cross(axis, r3.Sub(y, head.Crossing)))
		}
		slope += math.Abs(r3.Dot(v, j)) / d
		reach += r3.Norm(j)
	}
	if byRA {
		turn(head.P, (*hold).turned)
		curve += (a.byRA + b.byRA) / 2
	}
	if byDec {
		turn(r3.Vec{X: at.arm.R[0], Y: at.arm.R[3], Z: at.arm.R[6]}, func(h *hold) bool { return h.frame == rig.TubeFrame })
		curve += (a.byDec + b.byDec) / 2
	}
	if byRA && byDec {
		curve += a.byDec + b.byDec
	}
	k := h*h*curve + 1e-9
	plain := h*reach + k
	return d, d - math.Min(plain, h*slope+k), d + math.Min(plain, h*slope+h*h*reach*reach/(2*d)+k)
}

// places are the frames of one pose.
type places struct{ polar, arm, tube solid.Pose }

// of is where a hold is, world.
func (p *places) of(h *hold) r3.Vec {
	switch h.frame {
	case rig.Polar:
		return p.polar.Apply(h.at)
	case rig.Arm:
		return p.arm.Apply(h.at)
	case rig.TubeFrame:
		return p.tube.Apply(h.at)
	}
	return h.at
}

// path is the length of the way along holds at a pose, with bounds of it within h of that on each axis.
func (l *Load) path(holds []hold, g axes.Angles, h float64) (length, least, most float64) {
	var at places
	at.polar, at.arm, at.tube = l.Model.Frames(g)
	for i := 1; i < len(holds); i++ {
		d, lo, hi := l.distance(&holds[i-1], &holds[i], &at, h)
		length, least, most = length+d, least+lo, most+hi
	}
	return length, least, most
}

// reachTol is how near the proven bound of a reach comes to the one found, mm.
const reachTol = 1

// reach returns the longest path along holds (the shortest with sign −1) over the used poses.
func (l *Load) reach(ctx context.Context, p *Poses, holds []hold, sign float64) (Reach, error) {
	e, err := p.least(ctx, func(float64) float64 { return reachTol }, func(g axes.Angles, h float64) (float64, float64) {
		d, least, most := l.path(holds, g, h)
		if sign < 0 {
			return d, least
		}
		return -d, -most
	})
	if err != nil {
		return Reach{}, err
	}
	if !e.Any {
		return Reach{}, ErrNoPose
	}
	return Reach{At: e.At, ValueMM: -sign * e.Value, BoundMM: -sign * e.Bound}, nil
}

// Cables looks at each cable of the document over the used poses.
func (l *Load) Cables(ctx context.Context, p *Poses) ([]Cable, error) {
	var out []Cable
	for i := range l.Model.Rig.Cables {
		c, err := l.cable(ctx, p, i)
		if err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, nil
}

// holds places the anchors of cable i, plug first.
func (l *Load) holds(i int) ([]hold, error) {
	k, path := &l.Model.Rig.Cables[i], fmt.Sprintf("cables[%d]", i)
	var out []hold
	add := func(a *rig.Anchor, path string) error {
		h, err := l.holdOf(a, path)
		out = append(out, h)
		return err
	}
	if err := add(&k.Plug, path+".plug"); err != nil {
		return nil, err
	}
	for j := range k.Ties {
		if err := add(&k.Ties[j], fmt.Sprintf("%s.ties[%d]", path, j)); err != nil {
			return nil, err
		}
	}
	return out, add(&k.Box, path+".box")
}

// Slack is what cable i is longer than its path at a pose, mm, its tolerance taken off; negative: it pulls.
func (l *Load) Slack(i int, g axes.Angles) (float64, error) {
	holds, err := l.holds(i)
	if err != nil {
		return 0, err
	}
	k := &l.Model.Rig.Cables[i]
	length, _, _ := l.path(holds, g, 0)
	return k.LengthMM.Value - k.LengthMM.Tol - length, nil
}

func (l *Load) cable(ctx context.Context, p *Poses, i int) (Cable, error) {
	k := &l.Model.Rig.Cables[i]
	c := Cable{Name: k.Name, LengthMM: k.LengthMM.Value - k.LengthMM.Tol}
	holds, err := l.holds(i)
	if err != nil {
		return c, err
	}
	if c.Reach, err = l.reach(ctx, p, holds, 1); err != nil {
		return c, err
	}
	if c.Least, err = l.reach(ctx, p, holds, -1); err != nil {
		return c, err
	}
	for j := 1; j < len(holds); j++ {
		s, err := l.span(ctx, p, holds[j-1:j+1])
		if err != nil {
			return c, err
		}
		c.Spans = append(c.Spans, s)
		c.TiedMM += s.Longest.BoundMM
	}
	c.SlackMM, c.TiedSlackMM = c.LengthMM-c.Reach.BoundMM, c.LengthMM-c.TiedMM
	c.Tie, err = l.suggest(ctx, p, holds, &c)
	return c, err
}

// span looks at the straight piece between two holds.
func (l *Load) span(ctx context.Context, p *Poses, ends []hold) (Span, error) {
	a, b := &ends[0], &ends[1]
	s := Span{From: a.name, To: b.name}
	s.ByRA, s.ByDec = moved(a, b)
	var err error
	if s.Longest, err = l.reach(ctx, p, ends, 1); err != nil {
		return s, err
	}
	short, err := l.reach(ctx, p, ends, -1)
	if err != nil {
		return s, err
	}
	s.LeastMM = short.ValueMM
	s.LoopMM = math.Max(0, s.Longest.BoundMM-short.BoundMM)
	if s.ByRA || s.ByDec {
		s.HangsMM = s.Longest.BoundMM / 2 // the nearer tie is no farther than half of the cable between them
	}
	return s, nil
}

// suggest looks for a place on some part at which a further tie would make the loop of the widest span smallest. It compares the
// candidates over a grid of used poses, and proves what the best one gives.
func (l *Load) suggest(ctx context.Context, p *Poses, holds []hold, c *Cable) (*Suggestion, error) {
	worst := -1
	for j := range c.Spans {
		if c.Spans[j].LoopMM > 2*reachTol && (worst < 0 || c.Spans[j].LoopMM > c.Spans[worst].LoopMM) {
			worst = j
		}
	}
	if worst < 0 {
		return nil, nil
	}
	s := &c.Spans[worst]
	a, b := &holds[worst], &holds[worst+1]
	grid := l.grid(p)
	allowed := math.Max(c.LengthMM, c.TiedMM) - c.TiedMM + s.Longest.BoundMM // of both new spans together
	var best Suggestion
	var tie hold
	best.LoopMM = math.Inf(1)
	for i := range l.Model.Parts {
		part := &l.Model.Parts[i]
		if !part.Rig.OnSupport() {
			continue
		}
		for _, at := range faces(part.Rig) {
			h := newHold(part.Name, part.Frame, part.Place.Apply(at))
			long1, loop1 := l.swing(a, &h, grid)
			long2, loop2 := l.swing(&h, b, grid)
			if loop := math.Max(loop1, loop2); loop < best.LoopMM-reachTol && long1+long2 < allowed {
				best, tie = Suggestion{Part: part.Name, AtMM: at, After: s.From, LoopMM: loop, WasMM: s.LoopMM}, h
			}
		}
	}
	if best.LoopMM > 0.8*s.LoopMM {
		return nil, nil // hardly worth a tie
	}
	one, err := l.span(ctx, p, []hold{*a, tie})
	if err != nil {
		return nil, err
	}
	other, err := l.span(ctx, p, []hold{tie, *b})
	if err != nil {
		return nil, err
	}
	best.LoopMM = math.Max(one.LoopMM, other.LoopMM)
	best.TiedMM = c.TiedMM - s.Longest.BoundMM + one.Longest.BoundMM + other.Longest.BoundMM
	return &best, nil
}

// faces lists where a tie can sit on a part, from its centre along its own axes: the middles of a box's faces, and on a round part
// four places round its middle and round each end.
func faces(p *rig.Part) []r3.Vec {
	s := p.SizeMM
	round := func(d, z float64) []r3.Vec {
		return []r3.Vec{{X: d / 2, Z: z}, {X: -d / 2, Z: z}, {Y: d / 2, Z: z}, {Y: -d / 2, Z: z}}
	}
	rod := func(d0, d1, length float64) []r3.Vec {
		return slices.Concat(round(d0, -length/2), round((d0+d1)/2, 0), round(d1, length/2))
	}
	switch p.Shape {
	case rig.Box:
		return []r3.Vec{{X: s[0] / 2}, {X: -s[0] / 2}, {Y: s[1] / 2}, {Y: -s[1] / 2}, {Z: s[2] / 2}, {Z: -s[2] / 2}}
	case rig.Cone:
		return rod(s[0], s[1], s[2])
	case rig.Sphere:
		return round(s[0], 0)
	}
	return rod(s[0], s[0], s[1]) // cylinder, capsule
}

// gridStep is the step of the grid on which ties are compared, degrees.
const gridStep = 9

// grid lists the frames of the used poses of a grid.
func (l *Load) grid(p *Poses) []places {
	poses := p.Grid(gridStep)
	out := make([]places, len(poses))
	for i, g := range poses {
		out[i].polar, out[i].arm, out[i].tube = l.Model.Frames(g)
	}
	return out
}

// swing returns the longest distance of two holds over the grid, and how much longer that is than the shortest.
func (l *Load) swing(a, b *hold, grid []places) (longest, loop float64) {
	least := math.Inf(1)
	for i := range grid {
		d, _, _ := l.distance(a, b, &grid[i], 0)
		longest, least = math.Max(longest, d), math.Min(least, d)
		if byRA, byDec := moved(a, b); !byRA && !byDec {
			break
		}
	}
	return longest, longest - least
}
