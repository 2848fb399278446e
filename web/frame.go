package web

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"

	"legroom/axes"
	"legroom/report"
	"legroom/room"
)

// plane is one plane of a frame with its bytes.
type plane struct {
	Plane
	bytes []byte
}

// frame writes one frame: the length of its head, the head, the planes.
func frame(head FrameHead, planes []plane) []byte {
	head.Planes = []Plane{}
	size := 0
	for _, p := range planes {
		head.Planes = append(head.Planes, p.Plane)
		size += len(p.bytes)
	}
	text, err := json.Marshal(head)
	if err != nil {
		panic("web: the head of a frame: " + err.Error()) // it holds no number that JSON has no form for
	}
	out := make([]byte, 4, 4+len(text)+size)
	binary.LittleEndian.PutUint32(out, uint32(len(text)))
	out = append(out, text...)
	for _, p := range planes {
		out = append(out, p.bytes...)
	}
	return out
}

// States of a field in the plane state: those of package room, and one more.
const outsideTravel = 3

// head is what every frame of a map says.
func (w *work) head(kind string) FrameHead {
	g := w.gauge
	return FrameHead{Kind: kind, Fingerprint: g.Model.Rig.Fingerprint(), MarginMM: g.MarginMM, ToleranceMM: report.BasisOf(g, g.MaxAllowance()).ToleranceMM}
}

// stateFrame shows what a map has proven, a field a smallest cell.
func (w *work) stateFrame(m *room.Map, last bool) []byte {
	n, torus := m.Raster()
	head := w.head("states")
	head.Columns, head.Rows, head.CellDeg, head.EdgePercent, head.Last = n, n/2, m.CellDeg(), 100*m.EdgeShare(), last
	head.Exact = w.gauge.Model.Head.Aligned && n%4 == 0
	var planes []plane
	for _, side := range []axes.Side{axes.West, axes.East} {
		var fields []byte
		if head.Exact {
			fields = w.alignedFields(n, torus, side)
		} else {
			fields = w.sampledFields(m, n, side)
		}
		planes = append(planes, plane{Plane{"state", side.String(), "uint8"}, fields})
	}
	return frame(head, planes)
}

// alignedFields turns the torus into hour angle by declination for a head on the pole, where a field is a cell: on side west
// θ = H + 90° and β = P, on side east θ = H − 90° and β = −P, with the polar distance P = 90° − s·δ.
func (w *work) alignedFields(n int, torus []room.State, side axes.Side) []byte {
	m := w.gauge.Model
	rows := n / 2
	shift, first, step := n/4, n-1, -1 // β falls from 180° to 0 as δ rises from −90°
	if side == axes.East {
		shift, first, step = n-n/4, 0, 1
	}
	if axes.Hemisphere(m.Head.Latitude) < 0 {
		first, step = first+step*(rows-1), -step
	}
	cell := 2 * math.Pi / float64(n)
	var outside []int // columns
	for c, ok := range reachable(n, m.Travel.RAFrom, m.Travel.RATo, cell) {
		if !ok {
			outside = append(outside, (c-shift+n)%n)
		}
	}
	lines := reachable(n, m.Travel.DecFrom, m.Travel.DecTo, cell)
	out := make([]byte, rows*n)
	for j := range rows {
		k := first + step*j
		row, from := out[j*n:(j+1)*n], torus[k*n:(k+1)*n]
		fill(row[:n-shift], from[shift:])
		fill(row[n-shift:], from[:shift])
		for _, i := range outside {
			row[i] = outsideTravel
		}
		if !lines[k] {
			copy(row, bytes.Repeat([]byte{outsideTravel}, n))
		}
	}
	return out
}

// fill writes states as the bytes of a plane.
func fill(to []byte, from []room.State) {
	for i := range to {
		to[i] = byte(from[i])
	}
}

// reachable tells which of the n cells of an axis from −180° on lie wholly within its travel, by whole turns either way.
func reachable(n int, from, to, cell float64) []bool {
	const rounding = 1e-9
	out := make([]bool, n)
	for i := range out {
		a := float64(i)*cell - math.Pi
		for k := -2.0; k <= 2; k++ {
			x := a + k*2*math.Pi
			out[i] = out[i] || from-rounding <= x && x+cell <= to+rounding
		}
	}
	return out
}

// sampledFields looks up the cell at the centre of each field, for a head off the pole, where fields are no cells.
func (w *work) sampledFields(m *room.Map, n int, side axes.Side) []byte {
	model := w.gauge.Model
	rows := n / 2
	out := make([]byte, rows*n)
	cell := 2 * math.Pi / float64(n)
	for j := range rows {
		for i := range n {
			ax := model.Head.Angles(axes.Pose{Side: side, HourAngle: (float64(i)+0.5)*cell - math.Pi, Dec: (float64(j)+0.5)*cell - math.Pi/2})
			out[j*n+i] = byte(m.State(ax))
			if _, err := model.Reach(ax); err != nil {
				out[j*n+i] = outsideTravel
			}
		}
	}
	return out
}

// gapFrame shows samples of the gap on both sides.
func (w *work) gapFrame(west, east *report.Grid, last bool) []byte {
	const none, outside = math.MaxUint16, math.MinInt16
	parts := w.gauge.Model.Parts
	head := w.head("gaps")
	head.Columns, head.Rows, head.Last = west.Columns, west.Rows, last
	index := map[[2]int16]uint16{}
	var planes []plane
	for _, g := range []*report.Grid{west, east} {
		gaps, pairs := make([]byte, 0, 2*len(g.Points)), make([]byte, 0, 2*len(g.Points))
		for _, p := range g.Points {
			gap, pair := int16(outside), uint16(none)
			if !p.Unreachable {
				mm := math.Floor(float64(math.Nextafter32(p.AcrossMM, float32(math.Inf(-1)))))
				gap = int16(max(outside+1, min(mm, math.MaxInt16)))
				if !math.IsInf(float64(p.AcrossMM), 1) {
					k, known := index[p.Pair]
					if !known {
						k = uint16(len(index))
						index[p.Pair] = k
						head.Pairs = append(head.Pairs, [2]string{parts[p.Pair[0]].Name, parts[p.Pair[1]].Name})
					}
					pair = k
				}
			}
			gaps = binary.LittleEndian.AppendUint16(gaps, uint16(gap))
			pairs = binary.LittleEndian.AppendUint16(pairs, pair)
		}
		planes = append(planes, plane{Plane{"gap", g.Side.String(), "int16"}, gaps}, plane{Plane{"pair", g.Side.String(), "uint16"}, pairs})
	}
	return frame(head, planes)
}
