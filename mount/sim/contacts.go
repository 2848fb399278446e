package sim

import (
	"math"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// fineStep is the longest way between two looks at the true gap where it is small, as the sum of what both axes turn, radians.
const fineStep = 0.1 * math.Pi / 180

// closeBy is the gap below which looks come at every fineStep, mm. From further apart the next look comes where the gap could
// first be down to it.
const closeBy = 50

// mostContacts bounds how many contacts are kept one by one; all are counted.
const mostContacts = 1000

// Contact is one stretch of the way on which parts of the true rig touched or overlapped.
type Contact struct {
	From, To time.Time   // To is the last moment at which they still did, as far as it went
	At       axes.Angles // where the overlap was deepest: the true axis angles
	A, B     string      // the parts there
	DepthMM  float64     // how deep
	Motion   string      // what the mount did when it began: tracking, slewing, by hand, none
}

// Contacts is what was seen of the true rig along the way.
type Contacts struct {
	Count     int       // how often parts came into contact
	List      []Contact // the first of them, in the order of time
	DeepestMM float64   // the deepest overlap of all; 0 without any
	// LeastMM is the least gap seen, +Inf before the first look, and LeastA and LeastB its parts. It is exact to a step where it is
	// below 50 mm.
	LeastMM        float64
	LeastA, LeastB string
	LeastAt        axes.Angles
	LeastTime      time.Time
	Looks          int // at how many places the gap was taken
}

// toucher looks at the true rig along the way of the axes.
type toucher struct {
	g     *room.Gauge
	s     *room.Scratch
	reach float64 // mm that any point moves at most for a radian of either axis

	last axes.Angles // where the last look was
	gap  float64     // and what it saw, mm
	seen Contacts
	in   bool // in contact
}

func newToucher(g *room.Gauge) *toucher {
	t := &toucher{g: g, s: g.NewScratch(), last: axes.Angles{RA: math.NaN()}, seen: Contacts{LeastMM: math.Inf(1)}}
	for i := range g.Model.Parts {
		p := &g.Model.Parts[i]
		switch p.Frame {
		case rig.Arm:
			t.reach = math.Max(t.reach, p.FromPolarAxis)
		case rig.TubeFrame:
			t.reach = math.Max(t.reach, p.FromCrossing)
		}
	}
	return t
}

// way is how far the axes may turn until the next look, both added up, radians.
func (t *toucher) way() float64 {
	if !(t.gap > closeBy) || t.reach == 0 {
		return fineStep
	}
	return math.Max(fineStep, (t.gap-closeBy)/t.reach)
}

// turned is how far the axes have turned since the last look, both added up.
func (t *toucher) turned(at axes.Angles) float64 {
	return math.Abs(at.RA-t.last.RA) + math.Abs(at.Dec-t.last.Dec)
}

// look takes the gap where the axes are, unless it has been taken there.
func (t *toucher) look(at axes.Angles, when time.Time, motion string) {
	if at == t.last {
		return
	}
	d := t.g.Gap(at, t.s).Nearest
	t.last, t.gap = at, d.Gap
	t.seen.Looks++
	a, b := t.g.Model.Parts[d.A].Name, t.g.Model.Parts[d.B].Name
	if d.Gap < t.seen.LeastMM {
		t.seen.LeastMM, t.seen.LeastA, t.seen.LeastB, t.seen.LeastAt, t.seen.LeastTime = d.Gap, a, b, at, when
	}
	if d.Gap > 0 {
		t.in = false
		return
	}
	depth := -d.Gap
	t.seen.DeepestMM = math.Max(t.seen.DeepestMM, depth)
	if !t.in {
		t.in = true
		t.seen.Count++
		if len(t.seen.List) < mostContacts {
			t.seen.List = append(t.seen.List, Contact{From: when, To: when, At: at, A: a, B: b, DepthMM: depth, Motion: motion})
			return
		}
	}
	if t.seen.Count > len(t.seen.List) {
		return // one that is only counted
	}
	c := &t.seen.List[len(t.seen.List)-1]
	c.To = when
	if depth > c.DepthMM {
		c.DepthMM, c.At, c.A, c.B = depth, at, a, b
	}
}
