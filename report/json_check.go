package report

import (
	"fmt"
	"slices"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/watch"
)

// CheckDoc is the document of `legroom check`.
type CheckDoc struct {
	Rig string `json:"rig"`
	Basis
	OK       bool          `json:"ok" jsonschema_description:"no finding is an error, nothing overlaps at rest, every joint holds"`
	Findings []FindingDoc  `json:"findings"`
	Overlaps []OverlapDoc  `json:"overlaps" jsonschema_description:"pairs that overlap counterweight-down at the pole and are not joined: modelling errors"`
	Joints   []JointDoc    `json:"joints" jsonschema_description:"pairs joined by construction, whose gap does not count"`
	Rests    []RestDoc     `json:"rests" jsonschema_description:"the poses that the document names for the mount to rest at"`
	Defaults []DefaultDoc  `json:"defaults" jsonschema_description:"what the document left to the program"`
	Lengths  []QuantityDoc `json:"unmeasured_quantities" jsonschema_description:"lengths and angles that came from a template and were never measured"`
	Masses   []QuantityDoc `json:"unmeasured_masses" jsonschema_description:"masses that did: balance and tipping depend on them, no gap does"`
	Fitted   []QuantityDoc `json:"fitted_quantities" jsonschema_description:"lengths and angles that are not read off a tape: the fit of a proof walk gave them"`
	Costs    []CostDoc     `json:"costs" jsonschema_description:"which quantities' tolerances take most off the gaps that bound the room, largest first"`
	MassKg   MassDoc       `json:"mass_kg"`
	// Protect is by the watch's usual times: a look a second, a second for each answer, two seconds to brake.
	Protect watch.Protected `json:"protect" jsonschema_description:"how fast a slew may be that the watch can stop in time without having proven it beforehand"`
	Parts   []CheckPartDoc  `json:"parts" jsonschema_description:"counterweight-down at the pole"`
}

// CheckPartDoc is one part, with what its size holds beyond what was measured.
type CheckPartDoc struct {
	PartDoc
	TravelMM float64 `json:"travel_mm" jsonschema_description:"how much of its length is the focuser's travel, which counts all along"`
	Swept    bool    `json:"swept" jsonschema_description:"its widths hold angles of the rotator's sweep, and not the one measured alone"`
}

// FindingDoc is something that looks wrong.
type FindingDoc struct {
	Level rig.Severity `json:"level" jsonschema:"enum=error,enum=warning,enum=note"`
	Path  string       `json:"path"`
	Text  string       `json:"text"`
	File  string       `json:"file"`
	Line  int          `json:"line" jsonschema_description:"1-based; 0 when the place has no line of its own"`
	Col   int          `json:"col"`
}

// OverlapDoc is a pair that overlaps and must not.
type OverlapDoc struct {
	Nearest
	AFrom PlaceDoc `json:"a_from" jsonschema_description:"what a follows from"`
	BFrom PlaceDoc `json:"b_from"`
	// MayJoin is never so of parts of which one is not the mount's: joined, they would meet and nothing would say so.
	MayJoin bool `json:"may_join" jsonschema_description:"both are the mount's own: joined they may be, when they were built to pass each other"`
}

// PlaceDoc is a place in the document.
type PlaceDoc struct {
	Path string `json:"path"`
	File string `json:"file"`
	Line int    `json:"line" jsonschema_description:"1-based; 0 when the place has no line of its own"`
}

// JointDoc is one pair joined by construction.
type JointDoc struct {
	A         string  `json:"a"`
	B         string  `json:"b"`
	RestMM    float64 `json:"rest_mm" jsonschema_description:"signed gap at rest; negative: the depth of the overlap"`
	DeepestMM float64 `json:"deepest_mm" jsonschema_description:"lower bound of it over all reachable poses"`
	Holds     bool    `json:"holds" jsonschema_description:"never more than 2 mm deeper than at rest"`
}

// RestDoc is one pose that the mount rests at.
type RestDoc struct {
	Name       string  `json:"name" jsonschema:"enum=park,enum=home"`
	RAAxisDeg  float64 `json:"ra_axis_deg"`
	DecAxisDeg float64 `json:"dec_axis_deg"`
	GapLowerMM float64 `json:"gap_lower_mm" jsonschema_description:"proven lower bound of every gap, tolerances taken off"`
	Free       bool    `json:"free"`
	A          string  `json:"a" jsonschema_description:"the tightest pair"`
	B          string  `json:"b"`
}

// DefaultDoc is one value that the document left to the program.
type DefaultDoc struct {
	Path  string `json:"path"`
	Value string `json:"value"`
	Why   string `json:"why"`
}

// QuantityDoc is one quantity of the document.
type QuantityDoc struct {
	Path      string  `json:"path"`
	Value     float64 `json:"value"`
	Tolerance float64 `json:"tolerance"`
	Unit      string  `json:"unit" jsonschema:"enum=mm,enum=deg,enum=kg"`
}

// CostDoc is what one quantity's tolerance takes off a pair's gap.
type CostDoc struct {
	Path   string  `json:"path"`
	LossMM float64 `json:"loss_mm"`
	OfMM   float64 `json:"of_mm" jsonschema_description:"the pair's whole allowance"`
	A      string  `json:"a"`
	B      string  `json:"b"`
}

// MassDoc is the masses given.
type MassDoc struct {
	Support        float64 `json:"support"`
	Mount          float64 `json:"mount"`
	Counterweights float64 `json:"counterweights"`
	Tube           float64 `json:"tube"`
	Total          float64 `json:"total"`
}

func overlapDoc(m *axes.Model, q room.PairGap) OverlapDoc {
	a, b := m.Parts[q.A].Rig, m.Parts[q.B].Rig
	return OverlapDoc{nearestDoc(m, q), partFrom(m, a), partFrom(m, b), a.OfMount() && b.OfMount()}
}

func partFrom(m *axes.Model, p *rig.Part) PlaceDoc {
	at := m.Rig.PositionOf(p.From)
	return PlaceDoc{p.From, at.File, at.Line}
}

// JointFindings warns of every joint by which a gap that the axes change counts nowhere, though no maker saw to it.
func JointFindings(m *axes.Model) []FindingDoc {
	out := []FindingDoc{}
	for _, j := range room.UnseenJoints(m) {
		a, b := m.Parts[j.Pair[0]].Rig, m.Parts[j.Pair[1]].Rig
		own, deep := a.OfMount() && b.OfMount(), down(j.DepthMM)
		text := fmt.Sprintf("%s and %s are joined and move against each other: their gap counts nowhere: if they can meet, nothing here will say so; ", a.Name, b.Name)
		switch {
		case own:
			text += fmt.Sprintf("they overlap by %.1f mm counterweight-down at the pole: correct a length", deep)
		case deep >= 0.05:
			text += fmt.Sprintf("they overlap by %.1f mm counterweight-down at the pole: correct a length, and take the joint out", deep)
		default:
			text += "take the joint out, unless you have seen them pass each other through all of the travel"
		}
		at := m.Rig.PositionOf(j.Path)
		out = append(out, FindingDoc{rig.FindingWarning, j.Path, text, at.File, at.Line, at.Col})
	}
	return out
}

// Weighed sorts findings: errors, warnings, notes, and within those as they were.
func Weighed(fs []FindingDoc) []FindingDoc {
	rank := map[rig.Severity]int{rig.FindingError: 0, rig.FindingWarning: 1, rig.FindingNote: 2}
	slices.SortStableFunc(fs, func(a, b FindingDoc) int { return rank[a.Level] - rank[b.Level] })
	return fs
}

// Check returns the document of what a check found. costs may be nil.
func Check(g *room.Gauge, joints []room.Joint, costs []room.Cost) CheckDoc {
	m := g.Model
	d := CheckDoc{Rig: m.Rig.Name, Basis: BasisOf(g, g.MaxAllowance()), OK: true, Findings: []FindingDoc{}, Overlaps: []OverlapDoc{}, Joints: []JointDoc{},
		Defaults: []DefaultDoc{}, Costs: []CostDoc{}, Parts: []CheckPartDoc{}}
	for _, f := range m.Rig.Findings() {
		d.OK = d.OK && f.Level != rig.FindingError
		d.Findings = append(d.Findings, FindingDoc{f.Level, f.Path, f.Text, f.Position.File, f.Position.Line, f.Position.Col})
	}
	for _, q := range append(g.Nearest(axes.Angles{}, g.Pairs()), g.TurningOverlaps()...) {
		if q.Lower < 0 {
			d.OK = false
			d.Overlaps = append(d.Overlaps, overlapDoc(m, q))
		}
	}
	d.Findings = Weighed(append(d.Findings, JointFindings(m)...))
	for _, j := range joints {
		d.OK = d.OK && j.Holds
		d.Joints = append(d.Joints, JointDoc{m.Parts[j.A].Name, m.Parts[j.B].Name, nearest(j.Rest), down(j.Deepest), j.Holds})
	}
	d.Rests = rests(g)
	for _, u := range m.Rig.Defaults() {
		d.Defaults = append(d.Defaults, DefaultDoc{u.Path, u.Value, u.Why})
	}
	lengths, masses := m.Rig.Unmeasured()
	d.Lengths, d.Masses, d.Fitted = quantityDocs(lengths), quantityDocs(masses), quantityDocs(m.Rig.Fitted())
	for _, c := range costs {
		d.Costs = append(d.Costs, CostDoc{c.Quantity.Path, up(c.MM), up(c.OfMM), c.A, c.B})
	}
	for i := range m.Parts {
		p := m.Parts[i].Rig
		d.Parts = append(d.Parts, CheckPartDoc{partAt(m, i, axes.Angles{}), p.TravelMM, p.Swept})
	}
	d.Protect = protected(watch.Protects(g, watch.Options{}.Defaults()))
	k := m.Rig.Masses()
	d.MassKg = MassDoc{nearest(k.Support), nearest(k.Mount), nearest(k.Counterweights), nearest(k.Tube), nearest(k.Total())}
	return d
}

// CheckErrors gives what a check calls an error, in words: what cannot be so of the document, and of pairs of its parts. How much room
// the rig has is no part of that.
func CheckErrors(g *room.Gauge) []string {
	d := Check(g, g.Joints(), nil)
	out := []string{}
	for _, f := range d.Findings {
		if f.Level == rig.FindingError {
			out = append(out, f.Path+": "+f.Text)
		}
	}
	return append(out, d.pairErrors()...)
}

// checkErrors says that there are errors; "" when there are none.
func checkErrors(wrong []string) string {
	if len(wrong) == 0 {
		return ""
	}
	return fmt.Sprintf("`legroom check` FINDS %d %s: trust none of these limits until that is mended", len(wrong), plural(len(wrong), "ERROR", "ERRORS"))
}

func quantityDocs(quantities []*rig.Quantity) []QuantityDoc {
	out := make([]QuantityDoc, len(quantities))
	for i, q := range quantities {
		out[i] = QuantityDoc{q.Path, q.Value, q.Tol, q.Unit}
	}
	return out
}

// protected rounds what the watch can protect to the safe side.
func protected(p watch.Protected) watch.Protected {
	p.RADegPerS, p.DecDegPerS, p.Share, p.ClosingMMS = down(p.RADegPerS), down(p.DecDegPerS), down(p.Share), up(p.ClosingMMS)
	return p
}

// rests looks at the poses that the document names for the mount to rest at.
func rests(g *room.Gauge) []RestDoc {
	out := []RestDoc{}
	scratch := g.NewScratch()
	mount := &g.Model.Rig.Mount
	for _, r := range []struct {
		name string
		pose *rig.AxisPose
	}{{"park", mount.Park}, {"home", mount.Home}} {
		if r.pose == nil {
			continue
		}
		gap := g.Gap(axes.Angles{RA: axes.Rad(r.pose.RAAxisDeg), Dec: axes.Rad(r.pose.DecAxisDeg)}, scratch)
		d := RestDoc{Name: r.name, RAAxisDeg: r.pose.RAAxisDeg, DecAxisDeg: r.pose.DecAxisDeg, GapLowerMM: down(gap.Lower), Free: gap.Lower >= g.MarginMM}
		if g.Pairs() > 0 {
			d.A, d.B = g.Model.Parts[gap.LowerPair[0]].Name, g.Model.Parts[gap.LowerPair[1]].Name
		}
		out = append(out, d)
	}
	return out
}
