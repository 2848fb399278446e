package rig

import "strings"

// Part is one convex solid that follows from the document, fixed in its frame.
type Part struct {
	Name      string
	Frame     Frame
	Shape     ShapeKind
	SizeMM    []float64   // by shape, as ShapeKind says
	TravelMM  float64     // how much of its length is the focuser's travel, which it counts with all along
	Swept     bool        // its widths hold angles that the rotator sweeps over, and not the one measured alone
	Place     [12]float64 // row-major 3×4, part → frame, mm. Tube frame here: origin at the crossing of the axes
	Shifts    []Shift     // sorted by Quantity; only quantities with a tolerance above 0
	Condition string      // "" when always there
	MassKg    float64
	Unweighed bool   // the document gives no mass where it could; one of 0 that is counted elsewhere (legs with the support) is not
	From      string // document path that it follows from, such as support.legs
}

// OnSupport tells whether a part rests on the support's feet: of the ground's, the support's own do, and of the rest what has a mass.
func (p *Part) OnSupport() bool {
	switch {
	case p.Frame != Ground:
		return true
	case strings.HasPrefix(p.From, "support.obstacles"):
		return false
	case strings.HasPrefix(p.From, "support") || strings.HasPrefix(p.From, "mount"):
		return true
	}
	return p.MassKg > 0
}

// Shift bounds how far any point of a part moves, relative to the crossing of the axes, in the part's frame, for one
// unit of one quantity: the Hausdorff distance between the part at two values of the quantity x, x' (all else anywhere
// within tolerance) is at most MMPerUnit·|x − x'|, for x, x' within tolerance of the document's value. Unit is mm or degree.
// Ground and polar parts are measured in one frame that is fixed to the head at the crossing, so a quantity that raises
// the crossing shifts the ground parts.
type Shift struct {
	Quantity  int // index in Rig.Quantities
	MMPerUnit float64
}

// Assembly is what the geometry needs of a rig: its parts, where the axes are, and what is joined.
type Assembly struct {
	Parts  []Part
	Joined [][2]int // indices into Parts, a < b: pairs joined by construction
	// Turning lists, likewise, the pairs whose gap never changes, because one of the two is a body of revolution about the axis that
	// turns them against each other: the polar housing and what the arm carries, the declination housing or the
	// counterweights and the tube. They were apart when the mount was put together, and stay so.
	Turning [][2]int
	// Passing lists the document's joints of parts whose gap changes as an axis turns, each of which takes it out of every count.
	Passing []OwnJoint

	// Without names the conditions that were taken not to hold, sorted: nothing here answers for when they do.
	Without []string

	CrossingMM      [3]float64 // where the axes cross, world frame
	LatitudeDeg     float64
	AltitudeDeg     float64 // of the polar axis' elevated end, as set
	AzimuthErrorDeg float64 // of the polar axis, clockwise seen from above
	// Indices in Rig.Quantities of the five small turns, which the Shifts hold too: RAZero turns arm and tube parts about
	// the polar axis (nothing between an arm part and a tube part), DecZero tube parts about the declination axis, Cone
	// tube parts about the line through the crossing along the tube frame's y. PolarAltitude and PolarAzimuth turn the
	// head, which here is a turn of the ground parts about the crossing.
	RAZero, DecZero, Cone, PolarAltitude, PolarAzimuth int
}

// State says whether a named condition holds.
type State int

const (
	Unknown State = iota // counts as the worst: its parts are there
	Holds
	HoldsNot
)

// Conditions says what is known of the named conditions; those not named are Unknown. Two conditions are built in:
// "focuser travel" (every focuser may be racked out by its travel) and "rotator sweep" (the rotator may be at any angle of its
// sweep). HoldsNot takes the train as measured.
type Conditions map[string]State
