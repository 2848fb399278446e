package sky

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/rig"
)

// Target is one object that the owner wants to photograph. What a list leaves out is zero, or nil.
type Target struct {
	Name     string
	Place    J2000         // with the proper motion, if one is written
	Priority int           // 1 is the first, up to 100; 0: none written
	Sub      time.Duration // length of a sub-exposure; 0: none written
	Filters  []string      // nil: none written
	Wanted   time.Duration // total exposure wanted; 0: none written
	Extent   float64       // how far dither or a mosaic takes the pointing away from the place, radians; 0: none written
	Object   *Object       // the row of the built-in list that gave the place; nil when the list gave it
	Notes    []string      // what the owner should know of how the target was read
	Pos      rig.Position  // in the list; zero for a target from the command line
}

// atJ2000 takes a place and proper motion of a Julian year such as 2016 to those of 2000, along the same straight line as
// Apparent.
func (c J2000) atJ2000(year float64) J2000 {
	sα, cα := math.Sincos(c.RA)
	sδ, cδ := math.Sincos(c.Dec)
	motion := r3.Add(r3.Scale(c.PMRA, r3.Vec{X: -sα, Y: cα}), r3.Scale(c.PMDec, r3.Vec{X: -sδ * cα, Y: -sδ * sα, Z: cδ}))
	u := r3.Add(vector(Equatorial{c.RA, c.Dec}), r3.Scale(2000-year, motion))
	motion = r3.Scale(1/r3.Norm(u), motion)
	e := direction(u)
	sα, cα = math.Sincos(e.RA)
	sδ, cδ = math.Sincos(e.Dec)
	return J2000{RA: e.RA, Dec: e.Dec,
		PMRA:  r3.Dot(motion, r3.Vec{X: -sα, Y: cα}),
		PMDec: r3.Dot(motion, r3.Vec{X: -sδ * cα, Y: -sδ * sα, Z: cδ})}
}

// ParseTarget reads `name,ra_deg,dec_deg`, where the name may hold commas, and the angles may be in any form that a list
// takes under ra and dec (a plain number is degrees); or the name of a built-in object alone. A third angle is refused: it may be
// the decimals of one. The error is a *rig.Error.
func ParseTarget(text string) (*Target, error) {
	d := &targetDecoder{}
	var e targetEntry
	name, dec, coords := cutLast(text)
	switch {
	case coords:
		var ra string
		var two bool
		if name, ra, two = cutLast(name); !two {
			return nil, &rig.Error{Path: "target", Problem: fmt.Sprintf("%q has one comma", targetClip(text)), Remedy: `write "name,ra_deg,dec_deg" such as "M 42,83.822,-5.391", or the name of a built-in object`}
		}
		if _, more, two := cutLast(name); two && angleLike(more) || !two && angleLike(name) {
			return nil, &rig.Error{Path: "target", Problem: fmt.Sprintf("%q has more than two figures, or no name before them, as with decimal commas", targetClip(text)),
				Remedy: `write "name,ra_deg,dec_deg" with decimal points, such as "M 42,83.822,-5.391", and no comma before a number that belongs to the name`}
		}
		e.cells = []targetCell{{key: "name", text: name}, {key: "ra", text: ra}, {key: "dec", text: dec}}
	default:
		e.cells = []targetCell{{key: "name", text: text}}
	}
	t := d.target(e, "target")
	if len(d.errs) > 0 {
		return nil, d.errs[0]
	}
	return t, nil
}

// angleLike tells whether a text is an angle, so that it may as well be a part of the next one.
func angleLike(text string) bool {
	_, problem := parseSexagesimal(text)
	return problem == ""
}

// cutLast cuts at the last comma.
func cutLast(s string) (before, after string, ok bool) {
	i := strings.LastIndexByte(s, ',')
	if i < 0 {
		return s, "", false
	}
	return s[:i], strings.TrimSpace(s[i+1:]), true
}

// targetClip keeps a message short and on one line.
func targetClip(s string) string {
	r := []rune(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, s))
	if len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return string(r)
}
