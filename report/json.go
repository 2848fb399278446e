// Package report turns results into what people and programs read: JSON documents, text, pictures, the card for the
// tripod, and 3D models of the rig.
//
// Nothing here decides what is free; it shows what package room has proven, and rounds to the side that takes room away.
package report

import (
	"bytes"
	"encoding/json"
	"io"
	"regexp"
	"slices"
	"strings"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// Basis is what every result says about how it was found.
type Basis struct {
	Fingerprint string            `json:"fingerprint" jsonschema_description:"of everything in the document that affects gaps; a result with another one is stale"`
	MarginMM    float64           `json:"margin_mm" jsonschema_description:"the gap that the owner insists on"`
	Mode        rig.ToleranceMode `json:"tolerance_mode" jsonschema:"enum=rss,enum=worst,enum=none" jsonschema_description:"how tolerances add up to what is taken off a gap"`
	ToleranceMM float64           `json:"tolerance_mm" jsonschema_description:"the largest allowance taken off a pair's gap"`
	Unmeasured  []string          `json:"unmeasured" jsonschema_description:"paths of lengths that came from a template and were never measured"`
	Without     []string          `json:"without,omitempty" jsonschema_description:"conditions taken not to hold: the result is not for when they do"`
}

// BasisOf returns the basis of results that a gauge gives, with the largest allowance that it took off.
func BasisOf(g *room.Gauge, toleranceMM float64) Basis {
	lengths, _ := g.Model.Rig.Unmeasured()
	return Basis{Fingerprint: g.Model.Rig.Fingerprint(), MarginMM: g.MarginMM, Mode: g.Mode, ToleranceMM: up(toleranceMM), Unmeasured: rig.Paths(lengths),
		Without: g.Model.Assembly.Without}
}

// Nearest is one pair of parts at a pose.
type Nearest struct {
	A           string     `json:"a"`
	B           string     `json:"b"`
	GapMM       float64    `json:"gap_mm" jsonschema_description:"negative: the depth of the overlap"`
	GapLowerMM  float64    `json:"gap_lower_mm" jsonschema_description:"proven lower bound with the tolerances taken off"`
	ToleranceMM float64    `json:"tolerance_mm" jsonschema_description:"what the tolerances take off this pair's gap"`
	PointA      [3]float64 `json:"point_a_mm" jsonschema_description:"nearest point of a, world frame"`
	PointB      [3]float64 `json:"point_b_mm"`
}

// PartDoc is one part where it stands.
type PartDoc struct {
	Name   string        `json:"name"`
	Frame  rig.Frame     `json:"frame" jsonschema:"enum=ground,enum=polar,enum=arm,enum=tube"`
	Shape  rig.ShapeKind `json:"shape" jsonschema:"enum=box,enum=cylinder,enum=cone,enum=capsule,enum=sphere"`
	SizeMM []float64     `json:"size_mm" jsonschema_description:"box [x, y, z]; cylinder [diameter, length]; cone [diameter at -z, diameter at +z, length]; capsule [diameter, length between the centres]; sphere [diameter]; lengths along z, centred"`
	Place  [12]float64   `json:"place" jsonschema_description:"row-major 3x4, part to world, mm"`
}

// PoseDoc is the document of `legroom pose`.
type PoseDoc struct {
	HourAngleH float64 `json:"hour_angle_h"`
	DecDeg     float64 `json:"dec_deg"`
	Side       string  `json:"side" jsonschema:"enum=west,enum=east" jsonschema_description:"the pointing state, named by where the tube is when its target is at upper transit"`
	TubeIs     string  `json:"tube_is" jsonschema:"enum=west,enum=east,enum=above,enum=below" jsonschema_description:"where the tube is now, seen from the polar axis"`
	RAAxisDeg  float64 `json:"ra_axis_deg" jsonschema_description:"from counterweight-down, positive the way the sky moves"`
	DecAxisDeg float64 `json:"dec_axis_deg" jsonschema_description:"from the elevated pole"`
	GapMM      float64 `json:"gap_mm"`
	GapLowerMM float64 `json:"gap_lower_mm" jsonschema_description:"proven lower bound of every gap, each with its own tolerances taken off; free when at least the margin"`
	Decides    Nearest `json:"decides" jsonschema_description:"the pair that sets gap_lower_mm: with wide tolerances not the nearest"`
	// OutOfTravel is nil where the axes reach the pose.
	OutOfTravel *string `json:"out_of_travel" jsonschema:"nullable" jsonschema_description:"why the axes do not reach the pose, by whole turns either way: it is not free then"`
	Free        bool    `json:"free" jsonschema_description:"gap_lower_mm is at least the margin, and the axes reach the pose"`
	Basis
	Nearest []Nearest   `json:"nearest" jsonschema_description:"closest first"`
	Parts   []PartDoc   `json:"parts"`
	Joined  [][2]string `json:"joined" jsonschema_description:"pairs whose gap does not count: joined by construction, or turning about each other so that it never changes"`
}

// Pose returns the document of one pose: gap is what the gauge says there, and nearest its closest pairs, closest first.
func Pose(g *room.Gauge, p axes.Pose, gap room.Gap, pairs []room.PairGap) PoseDoc {
	m := g.Model
	ax := m.Head.Angles(p)
	decides, _ := g.Tightest(ax, g.NewScratch(), 0, func(_, _ int) float64 { return 0 })
	beyond := outOfTravel(m, ax)
	d := PoseDoc{
		HourAngleH: nearest(axes.Hours(p.HourAngle)), DecDeg: nearest(axes.Deg(p.Dec)),
		Side: p.Side.String(), TubeIs: TubeIs(&m.Head, ax),
		RAAxisDeg: nearest(axes.Deg(ax.RA)), DecAxisDeg: nearest(axes.Deg(ax.Dec)),
		GapMM: nearest(gap.Nearest.Gap), GapLowerMM: down(gap.Lower), Decides: nearestDoc(m, decides), OutOfTravel: beyond, Free: gap.Lower >= g.MarginMM && beyond == nil,
		Nearest: Pairs(m, pairs), Joined: [][2]string{}, Parts: Parts(m, ax),
	}
	largest := gap.Nearest.Allowance
	for _, q := range pairs {
		largest = max(largest, q.Allowance)
	}
	d.Basis = BasisOf(g, largest)
	for _, j := range slices.Concat(m.Assembly.Joined, m.Assembly.Turning) {
		d.Joined = append(d.Joined, [2]string{m.Parts[j[0]].Name, m.Parts[j[1]].Name})
	}
	return d
}

// outOfTravel says why the axes do not reach ax; nil when they do.
func outOfTravel(m *axes.Model, ax axes.Angles) *string {
	if _, err := m.Reach(ax); err != nil {
		why := strings.ReplaceAll(err.Error(), "-", "−")
		return &why
	}
	return nil
}

// Pairs describes pairs of a model's parts, in their order.
func Pairs(m *axes.Model, pairs []room.PairGap) []Nearest {
	out := make([]Nearest, len(pairs))
	for i, q := range pairs {
		out[i] = nearestDoc(m, q)
	}
	return out
}

// Parts describes every part where it stands at ax.
func Parts(m *axes.Model, ax axes.Angles) []PartDoc {
	out := make([]PartDoc, len(m.Parts))
	for i := range m.Parts {
		out[i] = partAt(m, i, ax)
	}
	return out
}

func nearestDoc(m *axes.Model, q room.PairGap) Nearest {
	return Nearest{
		A: m.Parts[q.A].Name, B: m.Parts[q.B].Name,
		GapMM: nearest(q.Gap), GapLowerMM: down(q.Lower - q.Allowance), ToleranceMM: up(q.Allowance),
		PointA: [3]float64{nearest(q.PointA.X), nearest(q.PointA.Y), nearest(q.PointA.Z)},
		PointB: [3]float64{nearest(q.PointB.X), nearest(q.PointB.Y), nearest(q.PointB.Z)},
	}
}

// partAt describes part i at ax. The place keeps every digit, and holds the zero errors and the cone of the document.
func partAt(m *axes.Model, i int, ax axes.Angles) PartDoc {
	p := m.Parts[i].Rig
	at := m.PartPose(i, ax)
	r, t := at.R, at.T
	return PartDoc{Name: p.Name, Frame: p.Frame, Shape: p.Shape, SizeMM: p.SizeMM,
		Place: [12]float64{r[0], r[1], r[2], t.X, r[3], r[4], r[5], t.Y, r[6], r[7], r[8], t.Z}}
}

// TubeIs says where the tube is, seen from the polar axis: west or east of it, or above or below it on the meridian.
func TubeIs(h *axes.Head, ax axes.Angles) string {
	a := h.A(ax.RA)
	const level = 1e-9 // of a unit vector: rounding of a quarter turn
	switch {
	case a.X < -level:
		return "west"
	case a.X > level:
		return "east"
	case a.Z > 0:
		return "above"
	}
	return "below"
}

// PoseLine is one line of `legroom poses`.
type PoseLine struct {
	Side        string            `json:"side" jsonschema:"enum=west,enum=east"`
	HourAngleH  float64           `json:"hour_angle_h"`
	DecDeg      float64           `json:"dec_deg"`
	TubeIs      string            `json:"tube_is" jsonschema:"enum=west,enum=east,enum=above,enum=below"`
	GapMM       float64           `json:"gap_mm"`
	GapLowerMM  float64           `json:"gap_lower_mm" jsonschema_description:"proven lower bound of every gap, each with its own tolerances taken off"`
	OutOfTravel *string           `json:"out_of_travel" jsonschema:"nullable" jsonschema_description:"why the axes do not reach the pose: it is not free then"`
	Free        bool              `json:"free"`
	A           string            `json:"a" jsonschema_description:"the pair with the least gap"`
	B           string            `json:"b"`
	MarginMM    float64           `json:"margin_mm"`
	Mode        rig.ToleranceMode `json:"tolerance_mode" jsonschema:"enum=rss,enum=worst,enum=none"`
	ToleranceMM float64           `json:"tolerance_mm" jsonschema_description:"what the tolerances take off that pair's gap"`
}

// Line returns the line of one pose. hourAngleH and decDeg are echoed as they were asked for.
func Line(g *room.Gauge, side axes.Side, hourAngleH, decDeg float64, gap room.Gap) PoseLine {
	m := g.Model
	ax := m.Head.Angles(axes.Pose{Side: side, HourAngle: axes.FromHours(hourAngleH), Dec: axes.Rad(decDeg)})
	beyond := outOfTravel(m, ax)
	return PoseLine{
		Side: side.String(), HourAngleH: hourAngleH, DecDeg: decDeg, TubeIs: TubeIs(&m.Head, ax),
		GapMM: nearest(gap.Nearest.Gap), GapLowerMM: down(gap.Lower), OutOfTravel: beyond, Free: gap.Lower >= g.MarginMM && beyond == nil,
		A: m.Parts[gap.Nearest.A].Name, B: m.Parts[gap.Nearest.B].Name,
		MarginMM: g.MarginMM, Mode: g.Mode, ToleranceMM: up(gap.Nearest.Allowance),
	}
}

// Write writes a document as JSON, indented, with each list of plain values on one line.
func Write(w io.Writer, doc any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(doc); err != nil {
		return err
	}
	_, err := w.Write(plainList.ReplaceAllFunc(b.Bytes(), func(list []byte) []byte { return lineBreak.ReplaceAll(itemBreak.ReplaceAll(list, []byte(", ")), nil) }))
	return err
}

// A line break cannot stand inside a JSON string, so that only those of the indentation go.
var (
	plainList = regexp.MustCompile(`\[\n[^\[\]{}]*\]`)
	itemBreak = regexp.MustCompile(`,\n *`)
	lineBreak = regexp.MustCompile(`\n *`)
)

// WriteLine writes a document on one line.
func WriteLine(w io.Writer, doc any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	return e.Encode(doc)
}
