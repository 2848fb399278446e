package change

import (
	"context"
	"math"
	"slices"

	"legroom/rig"
)

// FrontPoint is one of the trade-off between what the first variable takes and the aim: nothing that was looked at takes as little of it
// and is better. A riser takes its height; anything else how far it is moved from where it is, either way: a bearing of 120° is no
// less than one of 183°.
type FrontPoint struct {
	Height float64 // of the first variable, in its unit
	Takes  float64 // the same for a riser, else how far it is from the present
	Point  Point
	// AtBest is proven: no point whose first variable takes up to Takes misses the aim by less.
	AtBest float64
	// Best tells that it is the solution's best, which stands here even when something with a lower first variable misses the aim by no more.
	Best bool
}

// front picks from the points that hold the side constraints those for which none whose first variable takes as little or less misses the
// aim by less, and puts the best among them. What is missed is idle time alone, whether or not flips are proven; none is called none with its flips proven only.
func (s *search) front(ctx context.Context, points []Point) ([]FrontPoint, error) {
	var out []FrontPoint
	least := math.Inf(1)
	sorted := slices.Clone(points)
	slices.SortStableFunc(sorted, func(a, b Point) int {
		switch {
		case s.takes(a.X[0]) != s.takes(b.X[0]):
			if s.takes(a.X[0]) < s.takes(b.X[0]) {
				return -1
			}
			return 1
		case a.Miss < b.Miss:
			return -1
		case a.Miss > b.Miss:
			return 1
		}
		return 0
	})
	for _, p := range sorted {
		if p.Breaks != "" || !s.inside(p.X) || p.Miss >= least || p.Miss > least-missTolerance && p.Miss > meets {
			continue
		}
		holds := s.hold
		if s.p.Aim.Cheapest() && p.Miss <= meets { // no idle time: with its flips proven, as for the best
			holds = func(ctx context.Context, p *Point) error {
				_, err := s.flips(ctx, p)
				return err
			}
		}
		if err := holds(ctx, &p); err != nil {
			return nil, err
		}
		if p.Breaks != "" {
			continue
		}
		least = p.Miss
		out = append(out, s.frontPoint(p))
		if p.Miss <= meets {
			break
		}
	}
	return s.withBest(out), nil
}

// takes is what a value of the first variable takes.
func (s *space) takes(x float64) float64 { return s.takesLeast(x, x) }

// takesLeast is the least that a value of the first variable between two takes.
func (s *space) takesLeast(lo, hi float64) float64 {
	v := &s.vars[0]
	if v.path == riserPath {
		return lo
	}
	return math.Max(0, math.Max(lo-v.present, v.present-hi))
}

func (s *search) frontPoint(p Point) FrontPoint {
	takes := s.takes(p.X[0])
	return FrontPoint{Height: p.X[0], Takes: takes, Point: p, AtBest: s.boundUpTo(takes)}
}

// withBest marks the best of a front, after putting it in where it is not of it: in the place of one that is as good with the same first
// variable, or as one more.
func (s *search) withBest(front []FrontPoint) []FrontPoint {
	if s.best == nil {
		return front
	}
	here := s.frontPoint(*s.best)
	i := slices.IndexFunc(front, func(f FrontPoint) bool { return f.Height == here.Height && math.Abs(f.Point.Miss-s.best.Miss) <= meets })
	if i < 0 {
		if i = slices.IndexFunc(front, func(f FrontPoint) bool { return f.Takes > here.Takes }); i < 0 {
			i = len(front)
		}
		front = slices.Insert(front, i, here)
	}
	front[i].Point, front[i].Best = *s.best, true
	return front
}

// boundUpTo bounds what points whose first variable takes up to so much miss the aim by.
func (s *search) boundUpTo(takes float64) float64 {
	bound := math.Inf(1)
	for _, b := range s.leaves {
		if s.takesLeast(b.lo[0], b.hi[0]) <= takes {
			bound = math.Min(bound, b.bound)
		}
	}
	if math.IsInf(bound, 1) {
		return 0
	}
	return bound
}

// Turning compares turning the tripod with a riser, each alone, for one aim.
type Turning struct {
	Allowed []float64 // bearings of the first leg that the head allows, degrees; empty: any
	Turn    *Solution // the azimuth of the first leg alone
	Riser   *Solution // the riser alone
	// Enough tells that turning alone meets the aim; AsGood that it misses it by no more than the riser.
	Enough, AsGood bool
	Worth          *float64 // about the least riser that misses the aim by no more than turning alone, mm; nil when none does
}

// aloneWork is the work for each of the two, when nobody says otherwise.
const aloneWork = 200

// turning solves for the azimuth of the first leg alone and for the riser alone, when the riser is among the variables and the rig
// stands on a tripod.
func turning(ctx context.Context, p *Problem, s *space) (*Turning, error) {
	at := slices.IndexFunc(s.vars, func(v variable) bool { return v.path == riserPath })
	if at < 0 || s.rig.Support.Kind != rig.Tripod || s.rig.Support.Legs == nil {
		return nil, nil
	}
	legs := s.rig.Support.Legs.Count
	if legs == 0 {
		legs = 3
	}
	now := s.rig.Support.Legs.FirstAzimuthDeg.Value
	half := 180 / float64(legs)
	alone := func(ctx context.Context, v Variable) (*Solution, error) {
		q := *p
		q.Variables = []Variable{v}
		if q.Work == 0 {
			q.Work = aloneWork
		}
		space, err := newSpace(&q)
		if err != nil {
			return nil, err
		}
		return newSearch(space, nil).run(ctx)
	}
	t := &Turning{Allowed: s.rig.Support.Bearings}
	v := s.vars[at].Variable
	v.Path, v.Price = s.vars[at].name, s.vars[at].Price
	err := together(ctx, func(ctx context.Context) (err error) {
		t.Turn, err = alone(ctx, Variable{Path: "leg-azimuth", From: now - half, To: now + half, Price: -1})
		return err
	}, func(ctx context.Context) (err error) {
		t.Riser, err = alone(ctx, v)
		return err
	})
	if err != nil {
		return nil, err
	}
	if t.Turn.Best != nil {
		t.Enough = p.Aim.Cheapest() && t.Turn.Best.Meets()
		t.AsGood = t.Enough || t.Riser.Best == nil || t.Turn.Best.Miss <= t.Riser.Best.Miss+missTolerance
		t.Worth = t.Riser.firstAsGood(t.Turn.Best.Miss)
	}
	return t, nil
}

// firstAsGood is about where the front comes to miss the aim by no more than so much: between its points on the straight line.
func (s *Solution) firstAsGood(miss float64) *float64 {
	var e *FrontPoint // the least until then
	for i := range s.Front {
		f := &s.Front[i]
		if f.Point.Miss > miss+meets {
			if e == nil || f.Point.Miss < e.Point.Miss {
				e = f
			}
			continue
		}
		x := f.Height
		if e != nil {
			x = e.Height + (f.Height-e.Height)*(e.Point.Miss-miss)/(e.Point.Miss-f.Point.Miss)
		}
		return &x
	}
	return nil
}
