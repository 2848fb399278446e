package change

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"legroom/rig"
	"legroom/room"
)

// Variable is a length or angle that the solver may choose, in the document's unit.
type Variable struct {
	Path     string  // of the document, or a short name
	From, To float64 // bounds, both included
	Price    float64 // of a unit's change, in the price of a millimetre of riser; the short name's, or 1, when negative
	Only     []float64
}

// Problem is what the solver is asked.
type Problem struct {
	Document  *rig.Document // is not changed
	Ask       Ask
	Aim       Aim
	Variables []Variable // one to three
	Limits    Limits
	Work      int // how much may be looked at, in maps of one degree; 400 for one variable, 640 for two, 420 for three when 0
}

// variable is a Variable of one document.
type variable struct {
	Variable
	name    string // as it was asked for
	path    string // of the document
	index   int    // in Rig.Quantities
	present float64
	unit    string
	add     float64 // the document's value is the variable's plus this
	tol     float64 // the document's tolerance
}

// space is a problem made ready: what does not hang on where in the box the solver looks.
type space struct {
	p     *Problem
	rig   *rig.Rig // with every variable in the document
	known rig.Conditions
	vars  []variable
	bands []band
	pairs int
	// aligned tells that the sky's hour angles are the head's, without which nothing bounds what a box can have.
	aligned bool
	assumed []string
	decNm   float64 // moment about the declination axis as it is
	within  float64 // when a search ends: of the price, or of what is missed
	killers []int   // bands that surely missed the aim somewhere, the latest first
}

var errVariable = errors.New("cannot be solved for")

// newSpace reads the problem.
func newSpace(p *Problem) (*space, error) {
	if n := len(p.Variables); n < 1 || n > 3 {
		return nil, fmt.Errorf("%d variables: give one to three", n)
	}
	d, err := copyOf(p.Document)
	if err != nil {
		return nil, err
	}
	present, err := d.Rig()
	if err != nil {
		return nil, err
	}
	s := &space{p: p, rig: present}
	for _, v := range p.Variables {
		x := variable{Variable: v, name: v.Path, path: v.Path}
		n := shortName(v.Path)
		if n != nil {
			x.path = n.path
			if x.Price < 0 {
				x.Price = n.price
			}
			if n.name == riser && present.Support.Extension == nil {
				e := Edit{Path: riser, Value: "100"}
				more, err := e.apply(d, s.rig)
				if err != nil {
					return nil, err
				}
				s.assumed = append(s.assumed, more...)
				if s.rig, err = d.Rig(); err != nil {
					return nil, err
				}
			}
		}
		if x.Price < 0 {
			x.Price = 1
		}
		s.vars = append(s.vars, x)
	}
	for i := range s.vars {
		if err := s.locate(&s.vars[i], present); err != nil {
			return nil, err
		}
	}
	s.within = missTolerance
	if p.Aim.Cheapest() {
		s.within = 0
		for i := range s.vars {
			s.within = math.Max(s.within, unitTolerance*s.vars[i].Price)
		}
	}
	if s.known, err = s.rig.Known(p.Ask.Holds, p.Ask.HoldsNot); err != nil {
		return nil, err
	}
	g, err := p.Ask.gauge(s.rig)
	if err != nil {
		return nil, err
	}
	s.pairs, s.aligned = g.Pairs(), g.Model.Head.Aligned
	m, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 30})
	if err != nil {
		return nil, err
	}
	if p.Limits.Asks() {
		now, err := loadOf(context.Background(), m, p.Ask, questions{})
		if err != nil {
			return nil, err
		}
		s.decNm = now.Balance.Dec.MomentNm
	}
	s.bands = bands(m, p.Ask.Targets, p.Aim.Altitude)
	if len(s.bands) == 0 && p.Aim.Kind != MostRoom {
		return nil, fmt.Errorf("aim %q: nothing of what it is about ever stands above the horizon there; lower the altitude, or name other targets", p.Aim)
	}
	return s, nil
}

func copyOf(d *rig.Document) (*rig.Document, error) {
	r, err := d.Rig()
	if err != nil {
		return nil, err
	}
	return rig.Draft(d.Bytes(), r.Path)
}

// locate finds the variable's quantity, and refuses what the bounds of a box do not hold for.
func (s *space) locate(v *variable, present *rig.Rig) error {
	wrong := func(format string, args ...any) error {
		return fmt.Errorf("variable %s %w: %s", v.name, errVariable, fmt.Sprintf(format, args...))
	}
	if !(v.From < v.To) || math.IsInf(v.To-v.From, 0) {
		return wrong("give two bounds, the lower first, such as %s=0..100", v.name)
	}
	probe := v.From + (v.To-v.From)/3
	q := quantityAt(s.rig, v.path, probe)
	if no := lacks(s.rig, v.path); no != "" {
		return wrong("%s", no)
	}
	if q == nil {
		return wrong("%s is no length or angle that the document has", v.path)
	}
	for _, no := range []string{"mount.polar_axis", "mount.zero_errors", "site", "margin_mm", "mount.slew", "mount.travel"} {
		if strings.HasPrefix(q.Path, no) {
			return wrong("it takes lengths and angles of parts, and %s moves the sky or the pole", q.Path)
		}
	}
	if q.Unit != "mm" && q.Unit != "deg" {
		return wrong("%s is in %s: give a length or an angle", q.Path, q.Unit)
	}
	v.path, v.index, v.unit, v.tol = q.Path, q.ID, q.Unit, q.Tol
	v.present = q.Value
	if n := shortName(v.name); n != nil && n.added {
		v.add, v.present = q.Value, 0
	}
	if v.name == riser && present.Support.Extension == nil {
		v.present = 0
	}
	if strings.HasSuffix(q.Path, "first_azimuth_deg") && len(v.Only) == 0 {
		v.Only = v.pegs(s.rig.Support.Bearings, s.rig.Support.Legs.Count)
		if len(s.rig.Support.Bearings) > 0 && len(v.Only) == 0 {
			return wrong("the head allows the first leg only at %v°, none of which is from %g° to %g°", s.rig.Support.Bearings, v.From, v.To)
		}
	}
	for i := range v.Only {
		if !(v.Only[i] >= v.From && v.Only[i] <= v.To) {
			return wrong("%g is not from %g to %g", v.Only[i], v.From, v.To)
		}
	}
	slices.Sort(v.Only)
	v.Only = slices.Compact(v.Only)
	return nil
}

// pegs lists the azimuths of the first leg within the bounds that the head allows; equal legs may change places.
func (v *variable) pegs(bearings []float64, legs int) []float64 {
	if legs == 0 {
		legs = 3
	}
	var out []float64
	for _, b := range bearings {
		for k := -2 * legs; k <= 2*legs; k++ {
			if x := b + 360*float64(k)/float64(legs); x >= v.From && x <= v.To {
				out = append(out, x)
			}
		}
	}
	return out
}

// none is the height of a riser that is not there, mm: parts need a size, and so much moves nothing.
const none = 1e-3

// rigAt is the rig at a point of the space.
func (s *space) rigAt(x []float64) *rig.Rig {
	r := s.rig.Clone()
	for i := range s.vars {
		v := &s.vars[i]
		value := x[i] + v.add
		if v.path == "support.extension.height_mm" {
			value = math.Max(value, none)
		}
		r.Quantities[v.index].Value = value
	}
	return r
}

func (s *space) gaugeAt(x []float64) (*room.Gauge, error) {
	g, err := s.p.Ask.gauge(s.rigAt(x))
	if err != nil {
		return nil, err
	}
	if g.Pairs() != s.pairs {
		return nil, fmt.Errorf("at %v the rig has other pairs of parts: change the bounds so that no part comes to lie on an axis", x)
	}
	return g, nil
}

// price is what a point costs.
func (s *space) price(x []float64) float64 {
	sum := 0.0
	for i := range s.vars {
		sum += s.vars[i].Price * math.Abs(x[i]-s.vars[i].present)
	}
	return sum
}

// valueOf is what a rig misses the aim by: minutes, or percent of the sky without room.
func (s *space) valueOf(m *room.Map) float64 {
	if s.p.Aim.Kind == MostRoom {
		return 100 * (1 - m.Room().Either)
	}
	return mean(s.p.Aim.misses(m, s.bands))
}

// usual are the cells of most maps of a point, degrees.
const usual = 0.25

// at looks at one point with cells of some size, with so many goroutines (0: as many as processors), and returns the last map. Where the
// aim is to be met, a point that meets it or misses it by far is not looked at more finely than it takes to know that.
func (s *space) at(ctx context.Context, x []float64, cell float64, workers int) (miss, used float64, m *room.Map, err error) {
	const far = 10 // minutes, in all bands together
	g, err := s.gaugeAt(x)
	if err != nil {
		return 0, cell, nil, err
	}
	for _, used = range []float64{math.Max(cell, usual), cell} {
		if m, err = room.NewMap(ctx, g, room.MapOptions{CellDeg: used, Workers: workers}); err != nil {
			return 0, cell, nil, err
		}
		miss = s.valueOf(m)
		if known := miss <= meets || miss*float64(len(s.bands)) > far; used == cell || s.p.Aim.Cheapest() && known {
			break
		}
	}
	return miss, used, m, nil
}
