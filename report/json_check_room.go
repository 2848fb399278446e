package report

import (
	"fmt"
	"math"
	"strings"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// littleRoom is the share of the sky on either side below which a check says what takes the rest.
const littleRoom = 0.25

// TellLack adds the finding that there is next to no room anywhere on the rig's map, with the parts that leave none and what to measure.
// Of a rig with errors it adds only that two parts overlap everywhere: what else takes its room is told when it can be so.
func (d *CheckDoc) TellLack(m *room.Map) {
	either, g := m.Room().Either, m.Gauge()
	if either >= littleRoom {
		return
	}
	crowds := g.Crowds()
	if len(crowds) == 0 {
		return
	}
	f := FindingDoc{Level: rig.FindingWarning}
	f.Text = fmt.Sprintf("only %s %% of the sky above the horizon has room", plain(either*100, 1))
	if either < 0.0005 {
		f.Text = "no pose above the horizon has room"
	}
	var pairs []string
	for _, c := range crowds {
		at := fmt.Sprintf("at %.0f %% of the poses", math.Floor(c.Share*100))
		switch {
		case c.Share < 1-1e-9:
		case either > 0: // they keep what they need by a hair
			at = "at nearly every pose"
		default:
			at = "at every pose"
		}
		pairs = append(pairs, fmt.Sprintf("%s and %s %s", c.A, c.B, at))
	}
	f.Text += ": too near each other are " + strings.Join(pairs, ", ") + ". "
	c := crowds[0]
	switch most := plain(math.Abs(c.Most), 0); {
	case c.Share >= 1-1e-9 && c.Most < 0:
		f.Level = rig.FindingError
		a, b := placeOf(g.Model, c.A), placeOf(g.Model, c.B)
		f.Path, f.File, f.Line = a.Path, a.File, a.Line
		f.Text += fmt.Sprintf("They overlap by %s mm or more wherever the tube points, so that a length is wrong, or a part is in the wrong place: look at %s%s and %s%s",
			most, c.A, a.words(), c.B, b.words())
	case c.Share >= 1-1e-9 && c.Most < g.MarginMM:
		f.Text += fmt.Sprintf("There are never more than %s mm between them, less than the margin of %s mm: measure ", most, plain(g.MarginMM, 1))
	default:
		f.Text += fmt.Sprintf("Of what is between the first two, %s mm at most there, the tolerances take %s mm and the margin %s mm: measure better ",
			plain(c.Most, 0), plain(c.Allowance, 0), plain(g.MarginMM, 1))
	}
	if f.Level != rig.FindingError {
		if !d.OK {
			return
		}
		f.lengths(g, c)
	}
	d.OK = d.OK && f.Level != rig.FindingError
	d.Findings = Weighed(append([]FindingDoc{f}, d.Findings...))
}

// placeOf is where the part of a name comes from.
func placeOf(m *axes.Model, name string) PlaceDoc {
	for i := range m.Parts {
		if m.Parts[i].Name == name {
			return partFrom(m, m.Parts[i].Rig)
		}
	}
	return PlaceDoc{}
}

// lengths names what to measure better for a crowd to have more room.
func (f *FindingDoc) lengths(g *room.Gauge, c room.Crowd) {
	var lengths []string
	for i, s := range c.Shares {
		q := g.Model.Rig.Quantities[s.Quantity]
		if i == 0 {
			f.Path, f.File, f.Line, f.Col = q.Path, q.Pos.File, q.Pos.Line, q.Pos.Col
		}
		if i == 3 || i > 0 && s.MM < c.Shares[0].MM/4 {
			break
		}
		lengths = append(lengths, fmt.Sprintf("%s (%s)", q.Path, strings.TrimSuffix(q.String(), " unmeasured")))
	}
	if len(lengths) == 0 { // every length exact
		lengths = []string{"what the places of " + c.A + " and " + c.B + " are made of"}
	}
	f.Text += strings.Join(lengths, ", then ")
}
