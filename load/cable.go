package load

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/solid"
)

// Cable is how far one cable must reach, from its plug by its ties to its box, straight from each to the next.
//
// A cable that lies round a housing needs more than the straight line through it, one that hangs needs its loop, and axes that
// turn more than once about wind it up: none of that is in here. Gaps do not see cables.
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
}

// Suggestion is a further tie at the centre of a part.
type Suggestion struct {
	Part   string
	After  string  // the anchor behind which it comes
	LoopMM float64 // the greatest loop of the spans that it makes of one
	WasMM  float64 // the loop of that span without it
	TiedMM float64 // what the cable then needs, held fast at each tie
}

// hold is an anchor as a point of a frame.
type hold struct {
	name  string
	frame rig.Frame
	at    r3.Vec
	// How far it moves a radian of each axis, mm.
	byRA, byDec float64
}

// holdOf places an anchor; path is its own in the document.
func (l *Load) holdOf(a *rig.Anchor, path string) (hold, error) {
	var at r3.Vec
	if len(a.AtMM) == 3 {
		at = r3.Vec{X: a.AtMM[0].Value, Y: a.AtMM[1].Value, Z: a.AtMM[2].Value}
	}
	if a.Part == "" {
		if a.Frame == rig.TubeFrame { // measured from the saddle's face
			at.X += l.Model.Rig.Mount.SaddleDistanceMM.Value
		}
		return newHold(string(a.Frame), a.Frame, at), nil
	}
	i := l.index(a.Part)
	if i < 0 {
		return hold{}, fmt.Errorf("%s: %s: there is no part %q; `legroom check` lists the parts", l.Model.Rig.Path, path, a.Part)
	}
	p := &l.Model.Parts[i]
	return newHold(p.Name, p.Frame, p.Place.Apply(at)), nil
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

// placed is where a hold is at a pose, world.
func (h *hold) placed(polar, arm, tube *solid.Pose) r3.Vec {
	switch h.frame {
	case rig.Polar:
		return polar.Apply(h.at)
	case rig.Arm:
		return arm.Apply(h.at)
	case rig.TubeFrame:
		return tube.Apply(h.at)
	}
	return h.at
}

// moves bounds how fast the distance of two holds changes, mm a radian of each axis: what one axis turns alike stays alike.
func moves(a, b *hold) (byRA, byDec float64) {
	turned := func(h *hold) bool { return h.frame == rig.Arm || h.frame == rig.TubeFrame }
	byDec = a.byDec + b.byDec
	if a.frame == b.frame {
		return 0, 0
	}
	if turned(a) && turned(b) {
		return 0, byDec
	}
	return a.byRA + b.byRA, byDec
}

// path is the length of the way along holds at a pose.
func (l *Load) path(holds []hold, g axes.Angles) float64 {
	polar, arm, tube := l.Model.Frames(g)
	sum := 0.0
	for i := 1; i < len(holds); i++ {
		sum += r3.Norm(r3.Sub(holds[i].placed(&polar, &arm, &tube), holds[i-1].placed(&polar, &arm, &tube)))
	}
	return sum
}

// reachTol is how near the proven bound of a reach comes to the one found, mm.
const reachTol = 1

// reach returns the longest path along holds (the shortest with sign −1) over the used poses.
func (l *Load) reach(ctx context.Context, p *Poses, holds []hold, sign float64) (Reach, error) {
	var byRA, byDec float64
	for i := 1; i < len(holds); i++ {
		a, b := moves(&holds[i-1], &holds[i])
		byRA, byDec = byRA+a, byDec+b
	}
	e, err := p.least(ctx, func(float64) float64 { return reachTol }, func(g axes.Angles, h float64) (float64, float64) {
		v := -sign * l.path(holds, g)
		return v, v - h*(byRA+byDec)
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
	return k.LengthMM.Value - k.LengthMM.Tol - l.path(holds, g), nil
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
	byRA, byDec := moves(a, b)
	s := Span{From: a.name, To: b.name, ByRA: byRA > 0, ByDec: byDec > 0}
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
	if byRA > 0 || byDec > 0 {
		s.HangsMM = s.Longest.BoundMM / 2 // the nearer tie is no farther than half of the cable between them
	}
	return s, nil
}

// suggest looks for the part at whose centre a further tie would make the loop of the widest span smallest.
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
	var best *Suggestion
	s := &c.Spans[worst]
	for i := range l.Model.Parts {
		part := &l.Model.Parts[i]
		if !onSupport(part.Rig) {
			continue
		}
		tie := newHold(part.Name, part.Frame, part.Place.T)
		one, err := l.span(ctx, p, []hold{holds[worst], tie})
		if err != nil {
			return nil, err
		}
		other, err := l.span(ctx, p, []hold{tie, holds[worst+1]})
		if err != nil {
			return nil, err
		}
		loop := math.Max(one.LoopMM, other.LoopMM)
		tied := c.TiedMM - s.Longest.BoundMM + one.Longest.BoundMM + other.Longest.BoundMM
		if tied > math.Max(c.LengthMM, c.TiedMM) || loop > 0.8*s.LoopMM {
			continue // too long a way, or hardly worth a tie
		}
		if best == nil || loop < best.LoopMM {
			best = &Suggestion{Part: part.Name, After: s.From, LoopMM: loop, WasMM: s.LoopMM, TiedMM: tied}
		}
	}
	return best, nil
}
