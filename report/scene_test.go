package report

import (
	"bytes"
	"encoding/binary"
	"math"
	"testing"

	"github.com/qmuntal/gltf"
	"github.com/qmuntal/gltf/modeler"
	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/room"
)

// TestSceneFollowsTheSolids reads the glTF back and compares each part's extent in many directions with its solid's own
// support function: never beyond it, and short of it by no more than the facets of a round part.
func TestSceneFollowsTheSolids(t *testing.T) {
	m := madeUp(t)
	ax := m.Head.Angles(axes.Pose{Side: axes.West, HourAngle: 0.4, Dec: 0.3})
	near := room.PairGap{A: 0, B: 4, Gap: 42.5, PointA: r3.Vec{X: 100, Y: 200, Z: 300}, PointB: r3.Vec{X: 110, Y: 220, Z: 330}}
	var b bytes.Buffer
	if err := writeGLB(&b, m, ax, []room.PairGap{near}); err != nil {
		t.Fatal(err)
	}
	doc := new(gltf.Document)
	if err := gltf.NewDecoder(&b).Decode(doc); err != nil {
		t.Fatal(err)
	}
	if len(doc.Nodes) != len(m.Parts)+1 {
		t.Fatalf("%d nodes, want one for each of %d parts and the line", len(doc.Nodes), len(m.Parts))
	}
	for i := range m.Parts {
		p := &m.Parts[i]
		if doc.Nodes[i].Name != p.Name {
			t.Errorf("node %d is %q, want %q", i, doc.Nodes[i].Name, p.Name)
		}
		prim := doc.Meshes[*doc.Nodes[i].Mesh].Primitives[0]
		if got := doc.Materials[*prim.Material].Name; got != string(p.Frame) {
			t.Errorf("%s: material %q, want %q", p.Name, got, p.Frame)
		}
		v, err := modeler.ReadPosition(doc, doc.Accessors[prim.Attributes[gltf.POSITION]], nil)
		if err != nil {
			t.Fatal(err)
		}
		placed := p.Solid.At(m.PartPose(i, ax))
		for _, d := range directions() {
			far := math.Inf(-1)
			for _, q := range v {
				// glTF (x, y, z) is east, up, south, in metres.
				far = math.Max(far, 1000*(float64(q[0])*d.X-float64(q[2])*d.Y+float64(q[1])*d.Z))
			}
			want := r3.Dot(placed.Support(d), d)
			r := p.Rig.SizeMM[0] / 2
			if len(p.Rig.SizeMM) > 1 {
				r = math.Max(r, p.Rig.SizeMM[1]/2)
			}
			if short := want - far; short < -1e-3 || short > 2*r*(1-math.Cos(math.Pi/facets))+1e-3 {
				t.Errorf("%s: reaches %.4f mm towards %v, the solid %.4f mm", p.Name, far, d, want)
			}
		}
	}
	line := doc.Meshes[*doc.Nodes[len(m.Parts)].Mesh].Primitives[0]
	v, err := modeler.ReadPosition(doc, doc.Accessors[line.Attributes[gltf.POSITION]], nil)
	if err != nil {
		t.Fatal(err)
	}
	if line.Mode != gltf.PrimitiveLines || len(v) != 2 || v[0] != [3]float32{0.1, 0.3, -0.2} {
		t.Errorf("the line of the nearest pair is %v, mode %v", v, line.Mode)
	}
	if want := "nearest: leg 1 to filter wheel, 42.5 mm"; doc.Nodes[len(m.Parts)].Name != want {
		t.Errorf("the line is named %q, want %q", doc.Nodes[len(m.Parts)].Name, want)
	}
}

func directions() []r3.Vec {
	var out []r3.Vec
	for i := range 60 {
		// A spiral over the sphere.
		z := 1 - 2*(float64(i)+0.5)/60
		s, c := math.Sincos(float64(i) * 2.399963)
		r := math.Sqrt(1 - z*z)
		out = append(out, r3.Vec{X: r * c, Y: r * s, Z: z})
	}
	return out
}

// TestMeshesAreClosed checks that every edge is shared by two triangles that run along it opposite ways, and that the volume
// is positive: the surface is closed and faces outwards.
func TestMeshesAreClosed(t *testing.T) {
	m := madeUp(t)
	for i := range m.Parts {
		s, err := shape(m.Parts[i].Rig)
		if err != nil {
			t.Fatal(err)
		}
		edges := map[[2]uint32]int{}
		volume := 0.0
		for _, q := range s.triangles {
			for k := range 3 {
				edges[[2]uint32{q[k], q[(k+1)%3]}]++
			}
			volume += r3.Dot(s.vertices[q[0]], r3.Cross(s.vertices[q[1]], s.vertices[q[2]])) / 6
		}
		for e, n := range edges {
			if n != 1 || edges[[2]uint32{e[1], e[0]}] != 1 {
				t.Fatalf("%s: edge %v is there %d times, and %d times the other way", m.Parts[i].Name, e, n, edges[[2]uint32{e[1], e[0]}])
			}
		}
		if volume <= 0 {
			t.Errorf("%s: volume %g", m.Parts[i].Name, volume)
		}
	}
}

func TestSTLReadsBack(t *testing.T) {
	m := madeUp(t)
	var b bytes.Buffer
	if err := writeSTL(&b, m, axes.Angles{}); err != nil {
		t.Fatal(err)
	}
	data := b.Bytes()
	n := int(binary.LittleEndian.Uint32(data[80:]))
	if len(data) != 84+50*n {
		t.Fatalf("%d bytes for %d facets, want %d", len(data), n, 84+50*n)
	}
	if bytes.HasPrefix(data, []byte("solid")) {
		t.Error("the header begins like a text STL")
	}
	f := func(at int) float64 {
		return float64(math.Float32frombits(binary.LittleEndian.Uint32(data[at:])))
	}
	top := math.Inf(-1)
	for k := range n {
		at := 84 + 50*k
		v := func(j int) r3.Vec { return r3.Vec{X: f(at + 12*j), Y: f(at + 12*j + 4), Z: f(at + 12*j + 8)} }
		for j := 1; j <= 3; j++ {
			top = math.Max(top, v(j).Z)
		}
		if cross := r3.Cross(r3.Sub(v(2), v(1)), r3.Sub(v(3), v(1))); r3.Norm(cross) > 1 && r3.Dot(cross, v(0)) <= 0 {
			t.Fatalf("facet %d faces inwards", k)
		}
	}
	want := math.Inf(-1)
	for i := range m.Parts {
		p := m.Parts[i].Solid.At(m.PartPose(i, axes.Angles{}))
		want = math.Max(want, p.Support(r3.Vec{Z: 1}).Z)
	}
	if math.Abs(top-want) > 0.5 {
		t.Errorf("the highest vertex is at %.2f mm, the highest solid at %.2f mm", top, want)
	}
}
