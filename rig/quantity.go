package rig

// Source says where a quantity's value comes from.
type Source string

const (
	Absent     Source = ""
	Measured   Source = "measured"
	Fitted     Source = "fitted"     // not read off a tape: from the gaps that a proof walk measured
	Unmeasured Source = "unmeasured" // taken from a template and never measured
	Default    Source = "default"    // not in the document; `check` lists it
)

// Position is a place in a file, 1-based.
type Position struct {
	File      string
	Line, Col int
}

// Quantity is one number of the document with its tolerance. A document writes it as a plain number, as `460 ± 5`
// (or `460±5`, `460 +- 5`), and with the word `unmeasured` behind it when it comes from a template, or `fitted` when it
// comes from the fit of a proof walk.
type Quantity struct {
	Value  float64
	Tol    float64 // half-width that holds 95 of 100 times; never negative
	Unit   string  // "mm", "deg" or "kg"
	Source Source
	Path   string // in the document, such as support.legs.foot_radius_mm or tube.train.items[2].length_mm
	Pos    Position
	// ID is the index in Rig.Quantities, set by Load.
	ID int
}

// Set tells whether there is a value, from the document or by default.
func (q *Quantity) Set() bool { return q.Source != Absent }

// String gives the quantity as a document writes it, with its tolerance and without its unit: `460 ± 5 unmeasured`.
func (q *Quantity) String() string {
	s := format(q.Value)
	if q.Tol > 0 || q.Source == Fitted {
		s += " ± " + format(q.Tol)
	}
	if q.Source == Unmeasured || q.Source == Fitted {
		s += " " + string(q.Source)
	}
	return s
}

// Unmeasured lists what came from a template and was never measured: lengths and angles, on which gaps depend, and masses,
// on which balance and tipping alone do.
func (r *Rig) Unmeasured() (lengths, masses []*Quantity) {
	for _, q := range r.Quantities {
		switch {
		case q.Source != Unmeasured:
		case q.Unit == "kg":
			masses = append(masses, q)
		default:
			lengths = append(lengths, q)
		}
	}
	return lengths, masses
}

// Fitted lists what a proof walk's fit has put in place of what the document said, or of a default.
func (r *Rig) Fitted() []*Quantity {
	var out []*Quantity
	for _, q := range r.Quantities {
		if q.Source == Fitted {
			out = append(out, q)
		}
	}
	return out
}

// Paths gives where quantities stand in the document.
func Paths(quantities []*Quantity) []string {
	paths := make([]string, len(quantities))
	for i, q := range quantities {
		paths[i] = q.Path
	}
	return paths
}

// Length is a quantity in millimetres.
type Length struct{ Quantity }

// Angle is a quantity in degrees.
type Angle struct{ Quantity }

// Mass is a quantity in kilograms.
type Mass struct{ Quantity }
