package report

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"image/color"
	"io"
	"math"

	"github.com/qmuntal/gltf"
	"github.com/qmuntal/gltf/modeler"
	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// frames of a rig in the order of the chain from the ground to the tube, with the colours of their parts.
var frames = []struct {
	frame  rig.Frame
	colour color.NRGBA
}{{rig.Ground, grey}, {rig.Polar, blue}, {rig.Arm, orange}, {rig.TubeFrame, skyBlue}}

// WriteGLB writes the rig at ax as binary glTF 2.0: metres, +Y up, east +X, north −Z. Each part is a node with its name, in
// the material of its frame; one more node is the line between the nearest pair, named by its gap.
func WriteGLB(w io.Writer, g *room.Gauge, ax axes.Angles) error {
	return writeGLB(w, g.Model, ax, g.Nearest(ax, 1))
}

func writeGLB(w io.Writer, m *axes.Model, ax axes.Angles, nearest []room.PairGap) error {
	doc := gltf.NewDocument()
	doc.Asset.Generator = "legroom"
	doc.Scenes[0].Name = m.Rig.Name
	material := map[rig.Frame]int{}
	for _, f := range frames {
		material[f.frame] = addMaterial(doc, string(f.frame), f.colour)
	}
	for i := range m.Parts {
		s, err := meshAt(m, i, ax)
		if err != nil {
			return err
		}
		indices := make([]uint32, 0, 3*len(s.triangles))
		for _, t := range s.triangles {
			indices = append(indices, t[0], t[1], t[2])
		}
		addNode(doc, m.Parts[i].Name, &gltf.Primitive{
			Attributes: gltf.PrimitiveAttributes{gltf.POSITION: modeler.WritePosition(doc, metres(s.vertices))},
			Indices:    gltf.Index(modeler.WriteIndices(doc, indices)),
			Material:   gltf.Index(material[m.Parts[i].Frame]),
		})
	}
	if len(nearest) > 0 {
		n := nearest[0]
		name := fmt.Sprintf("nearest: %s to %s, %.1f mm", m.Parts[n.A].Name, m.Parts[n.B].Name, n.Gap)
		addNode(doc, name, &gltf.Primitive{
			Mode:       gltf.PrimitiveLines,
			Attributes: gltf.PrimitiveAttributes{gltf.POSITION: modeler.WritePosition(doc, metres([]r3.Vec{n.PointA, n.PointB}))},
			Material:   gltf.Index(addMaterial(doc, "nearest", vermilion)),
		})
	}
	return gltf.NewEncoder(w).Encode(doc)
}

func addMaterial(doc *gltf.Document, name string, c color.NRGBA) int {
	metallic, rough := 0.0, 0.7
	doc.Materials = append(doc.Materials, &gltf.Material{Name: name, PBRMetallicRoughness: &gltf.PBRMetallicRoughness{
		BaseColorFactor: &[4]float64{linear(c.R), linear(c.G), linear(c.B), 1}, MetallicFactor: &metallic, RoughnessFactor: &rough}})
	return len(doc.Materials) - 1
}

// linear is the linear light of an sRGB value (IEC 61966-2-1), which glTF's colour factors are in.
func linear(v uint8) float64 {
	x := float64(v) / 255
	if x <= 0.04045 {
		return x / 12.92
	}
	return math.Pow((x+0.055)/1.055, 2.4)
}

func addNode(doc *gltf.Document, name string, p *gltf.Primitive) {
	doc.Meshes = append(doc.Meshes, &gltf.Mesh{Name: name, Primitives: []*gltf.Primitive{p}})
	doc.Nodes = append(doc.Nodes, &gltf.Node{Name: name, Mesh: gltf.Index(len(doc.Meshes) - 1)})
	doc.Scenes[0].Nodes = append(doc.Scenes[0].Nodes, len(doc.Nodes)-1)
}

// metres turns world coordinates, mm, z up, into glTF's.
func metres(in []r3.Vec) [][3]float32 {
	out := make([][3]float32, len(in))
	for i, v := range in {
		out[i] = [3]float32{float32(v.X / 1000), float32(v.Z / 1000), float32(-v.Y / 1000)}
	}
	return out
}

// WriteSTL writes the rig at ax as binary STL: world frame, mm, Z up, all parts in one list of facets.
func WriteSTL(w io.Writer, g *room.Gauge, ax axes.Angles) error { return writeSTL(w, g.Model, ax) }

func writeSTL(w io.Writer, m *axes.Model, ax axes.Angles) error {
	var meshes []mesh
	count := 0
	for i := range m.Parts {
		s, err := meshAt(m, i, ax)
		if err != nil {
			return err
		}
		meshes = append(meshes, s)
		count += len(s.triangles)
	}
	b := bufio.NewWriter(w)
	var head [80]byte
	copy(head[:], "legroom; mm, Z up; "+m.Rig.Name)
	b.Write(head[:]) // a bufio.Writer keeps its first error for Flush
	put := func(x any) { binary.Write(b, binary.LittleEndian, x) }
	put(uint32(count))
	for _, s := range meshes {
		for _, t := range s.triangles {
			p, q, r := s.vertices[t[0]], s.vertices[t[1]], s.vertices[t[2]]
			n := r3.Cross(r3.Sub(q, p), r3.Sub(r, p))
			if l := r3.Norm(n); l > 0 {
				n = r3.Scale(1/l, n)
			}
			for _, v := range []r3.Vec{n, p, q, r} {
				put([3]float32{float32(v.X), float32(v.Y), float32(v.Z)})
			}
			put(uint16(0))
		}
	}
	return b.Flush()
}
