package rig

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// The two conditions that every rig has, for what moves by itself.
const (
	FocuserTravel = "focuser travel"
	RotatorSweep  = "rotator sweep"
)

// Assemble makes the parts that follow from the document, each in its frame, under what is known of the named
// conditions. Places are mm: ground parts from the world's origin, all others from the crossing of the axes.
//
// Parts of a condition that does not hold are left out; a train item that is left out still keeps its place in the stack.
// What moves by itself is covered at its worst, never cut short: a focuser's travel lengthens it and everything behind it,
// a rotator's sweep replaces what turns by shapes that hold it at every angle.
//
// The rig must come from Load (or have its Quantities numbered and its defaults filled in likewise). It returns an error
// for a condition or joint that the document does not have and for lengths that give no solid; it changes nothing.
func (r *Rig) Assemble(c Conditions) (*Assembly, error) {
	if r.Mount.Zero == nil || r.Mount.PolarAxis == nil {
		return nil, &Error{Pos: Position{File: r.Path}, Path: "mount", Problem: "the rig has no zero errors or no polar axis", Remedy: "read it with Load, which fills in the defaults"}
	}
	if err := r.knownConditions(c); err != nil {
		return nil, err
	}
	b := &assembler{r: r, c: c, item: map[string]string{}}
	b.head()
	b.support()
	b.mount()
	b.tube()
	if b.err != nil {
		return nil, b.err
	}
	z, pa := r.Mount.Zero, r.Mount.PolarAxis
	asm := &Assembly{
		Parts:           b.parts,
		CrossingMM:      [3]float64{b.o.X, b.o.Y, b.o.Z},
		LatitudeDeg:     r.Site.LatitudeDeg,
		AltitudeDeg:     pa.AltitudeDeg.Value,
		AzimuthErrorDeg: pa.AzimuthErrorDeg.Value,
		RAZero:          z.RADeg.ID,
		DecZero:         z.DecDeg.ID,
		Cone:            z.ConeDeg.ID,
		PolarAltitude:   pa.AltitudeDeg.ID,
		PolarAzimuth:    pa.AzimuthErrorDeg.ID,
	}
	var err error
	var own []OwnJoint
	if asm.Joined, own, err = b.joined(); err != nil {
		return nil, err
	}
	if err := b.cables(); err != nil {
		return nil, err
	}
	asm.Turning, asm.Passing = turning(asm), passing(asm, own)
	for name, state := range c {
		if state == HoldsNot {
			asm.Without = append(asm.Without, name)
		}
	}
	slices.Sort(asm.Without)
	return asm, nil
}

// assembler gathers the parts of one rig. The first error stays.
type assembler struct {
	r     *Rig
	c     Conditions
	parts []Part
	item  map[string]string // part name → name in the document, where they differ
	err   error

	// The head: where the axes cross and where the polar axis points. World frame, mm.
	upright r3.Vec  // the crossing before the support leans
	o       r3.Vec  // the crossing
	lean    placing // about the world's origin
	toPole  r3.Vec  // horizontal, towards the polar axis' elevated end
	west    r3.Vec  // the head's W: horizontal, square to it
}

// fail notes what is wrong at a path of the document, and what would be right.
func (b *assembler) fail(path, remedy, problem string, args ...any) {
	if b.err == nil {
		b.err = &Error{Pos: b.r.PositionOf(path), Path: path, Problem: fmt.Sprintf(problem, args...), Remedy: remedy}
	}
}

// PositionOf is where the document says something at or below a path: the first number there, or the place itself where it holds
// none; the file alone when there is neither.
func (r *Rig) PositionOf(path string) Position {
	for _, q := range r.Quantities {
		if rest, ok := strings.CutPrefix(q.Path, path); ok && (rest == "" || rest[0] == '.' || rest[0] == '[') && q.Pos.Line > 0 {
			return q.Pos
		}
	}
	if steps, err := parsePath(path); err == nil && r.tree != nil {
		n := r.tree
		for _, s := range steps {
			if n != nil {
				n = n.step(s)
			}
		}
		if n != nil && n.at.Line > 0 {
			return n.at
		}
	}
	return Position{File: r.Path}
}

// head places the crossing: above the centre line of the support, then towards the elevated pole, then leant with the
// support about the world's origin.
func (b *assembler) head() {
	m, s := &b.r.Mount, &b.r.Support
	hemisphere := 1.0 // the elevated pole is north or south; 0 counts as north
	if b.r.Site.LatitudeDeg < 0 {
		hemisphere = -1
	}
	sin, cos := math.Sincos(m.PolarAxis.AzimuthErrorDeg.Value * rad) // clockwise: north turns to the east
	b.toPole = r3.Vec{X: hemisphere * sin, Y: hemisphere * cos}
	b.west = r3.Vec{X: -cos, Y: sin}
	height := 0.0
	for _, q := range b.crossingHeights() {
		height += q.Value
	}
	b.upright = r3.Add(r3.Scale(m.CrossingMM.OffsetMM.Value, b.toPole), r3.Vec{Z: height})
	b.lean = identity
	if s.Level != nil {
		b.lean = turnAbout(r3.Vec{}, b.leanAxis(), s.Level.LeanDeg.Value*rad)
	}
	b.o = b.lean.apply(b.upright)
}

// leanAxis is the horizontal axis about which the support leans to its azimuth: z × that direction.
func (b *assembler) leanAxis() r3.Vec {
	sin, cos := math.Sincos(b.r.Support.Level.AzimuthDeg.Value * rad)
	return r3.Vec{X: -cos, Y: sin}
}

// crossingHeights lists the quantities that add up to the height of the crossing.
func (b *assembler) crossingHeights() []*Quantity {
	qs := []*Quantity{&b.r.Support.HeightMM.Quantity, &b.r.Mount.CrossingMM.HeightMM.Quantity}
	if e := b.r.Support.Extension; e != nil {
		qs = append(qs, &e.HeightMM.Quantity)
	}
	return qs
}

// absent tells whether parts of the named condition are known not to be there.
func (b *assembler) absent(condition string) bool {
	return condition != "" && b.c[condition] == HoldsNot
}

// add closes a piece and takes it in.
func (b *assembler) add(p *piece, condition string, mass *Mass) {
	if b.absent(condition) {
		return
	}
	p.part.Condition = condition
	if mass != nil {
		p.part.MassKg, p.part.Unweighed = mass.Value, !mass.Set()
	}
	for i, s := range p.part.SizeMM {
		cone := p.part.Shape == Cone && i < 2 // one end of a cone may be a point
		if !(s > 0 || (cone && s == 0 && p.part.SizeMM[0]+p.part.SizeMM[1] > 0)) {
			b.fail(p.part.From, "every size must be above 0", "%s would be a %s of size %v mm", p.part.Name, p.part.Shape, p.part.SizeMM)
			return
		}
	}
	b.parts = append(b.parts, p.done())
}

// named lists the parts by their names, and by those that the document has for them.
func (b *assembler) named() map[string][]int {
	named := map[string][]int{}
	for i, p := range b.parts {
		named[p.Name] = append(named[p.Name], i)
		if n, ok := b.item[p.Name]; ok {
			named[n] = append(named[n], i)
		}
	}
	return named
}

// cables says which cable is held by a part that is not there.
func (b *assembler) cables() error {
	named := b.named()
	for i := range b.r.Cables {
		c, path := &b.r.Cables[i], fmt.Sprintf("cables[%d]", i)
		anchors, paths := []*Anchor{&c.Plug, &c.Box}, []string{path + ".plug", path + ".box"}
		for j := range c.Ties {
			anchors, paths = append(anchors, &c.Ties[j]), append(paths, fmt.Sprintf("%s.ties[%d]", path, j))
		}
		for j, a := range anchors {
			if a.Part != "" && len(named[a.Part]) == 0 && !b.leftOut(a.Part) {
				return b.noPart(paths[j], a.Part)
			}
		}
	}
	return nil
}

// noPart says that a name at a path of the document is no part's, and which name is near, or all of them where none is.
func (b *assembler) noPart(path, name string) error {
	names, quoted := make([]string, len(b.parts)), make([]string, len(b.parts))
	for i, p := range b.parts {
		names[i], quoted[i] = p.Name, strconv.Quote(p.Name)
	}
	remedy := "the parts are " + strings.Join(quoted, ", ")
	if near := Nearest(name, names); near != "" {
		remedy = fmt.Sprintf("did you mean %q?", near)
	}
	return &Error{Pos: b.r.PositionOf(path), Path: path, Problem: fmt.Sprintf("there is no part %q", name), Remedy: remedy}
}

// leftOut tells whether the document names a part that a condition left out.
func (b *assembler) leftOut(name string) bool {
	t := &b.r.Tube
	for _, s := range t.Sections {
		if s.Name == name {
			return b.absent(s.Condition)
		}
	}
	if t.Train != nil {
		for _, s := range t.Train.Items {
			if s.Name == name {
				return b.absent(s.Condition)
			}
		}
	}
	for _, list := range [][]ExtraPart{b.r.Support.Obstacles, b.r.Mount.Parts, t.Parts, b.r.Parts} {
		for _, s := range list {
			if s.Name == name {
				return b.absent(s.Condition)
			}
		}
	}
	return false
}

func (r *Rig) knownConditions(c Conditions) error {
	known := r.ConditionNames()
	for name := range c {
		if !slices.Contains(known, name) {
			return &Error{Pos: Position{File: r.Path}, Path: "conditions", Problem: fmt.Sprintf("there is no condition %q", name), Remedy: fmt.Sprintf("the conditions are %q", known)}
		}
	}
	return nil
}
