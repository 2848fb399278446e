package report

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

// mesh is a closed surface of triangles, counter-clockwise seen from outside.
type mesh struct {
	vertices  []r3.Vec
	triangles [][3]uint32
}

// facets is into how many a turn is cut. Every vertex lies on the solid, so that a round one is shown up to
// 1 − cos(π/facets) = 0.12% of its radius too thin: for looking at only, gaps come from the solids.
const facets = 64

// shape returns the mesh of a part in its own frame, mm.
func shape(p *rig.Part) (mesh, error) {
	s := p.SizeMM
	switch p.Shape {
	case rig.Box:
		return boxMesh(s[0]/2, s[1]/2, s[2]/2), nil
	case rig.Cylinder:
		return turned([][2]float64{{0, -s[1] / 2}, {s[0] / 2, -s[1] / 2}, {s[0] / 2, s[1] / 2}, {0, s[1] / 2}}), nil
	case rig.Cone:
		return turned([][2]float64{{0, -s[2] / 2}, {s[0] / 2, -s[2] / 2}, {s[1] / 2, s[2] / 2}, {0, s[2] / 2}}), nil
	case rig.Capsule:
		return turned(rounded(s[0]/2, s[1]/2)), nil
	case rig.Sphere:
		return turned(rounded(s[0]/2, 0)), nil
	}
	return mesh{}, fmt.Errorf("part %s: no mesh for shape %q", p.Name, p.Shape)
}

func boxMesh(x, y, z float64) mesh {
	var m mesh
	for k := range 8 {
		sign := func(bit int) float64 { return float64(k>>bit&1)*2 - 1 }
		m.vertices = append(m.vertices, r3.Vec{X: x * sign(0), Y: y * sign(1), Z: z * sign(2)})
	}
	for _, q := range [][4]uint32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.triangles = append(m.triangles, [3]uint32{q[0], q[1], q[2]}, [3]uint32{q[0], q[2], q[3]})
	}
	return m
}

// rounded is the outline of a capsule from its lower to its upper pole: half a turn of radius r, pulled apart by h to each side.
func rounded(r, h float64) [][2]float64 {
	var out [][2]float64
	for k := range facets/2 + 1 {
		s, c := math.Sincos(math.Pi * float64(k) / (facets / 2))
		z := -r * c
		switch {
		case k == 0 || k == facets/2:
			s = 0
			z = math.Copysign(h+r, z)
		case 2*k < facets/2:
			z -= h
		case 2*k > facets/2:
			z += h
		default:
			if h > 0 {
				out = append(out, [2]float64{r, -h})
			}
			z = h
		}
		out = append(out, [2]float64{r * s, z})
	}
	return out
}

// turned turns an outline of (radius, z), upwards, about z.
func turned(outline [][2]float64) mesh {
	var m mesh
	var rings [][]uint32
	for i, o := range outline {
		if i > 0 && o == outline[i-1] {
			continue
		}
		n := facets
		if o[0] == 0 {
			n = 1
		}
		ring := make([]uint32, n)
		for k := range ring {
			s, c := math.Sincos(2 * math.Pi * float64(k) / facets)
			ring[k] = uint32(len(m.vertices))
			m.vertices = append(m.vertices, r3.Vec{X: o[0] * c, Y: o[0] * s, Z: o[1]})
		}
		rings = append(rings, ring)
	}
	for i := 1; i < len(rings); i++ {
		a, b := rings[i-1], rings[i]
		for k := range facets {
			l := (k + 1) % facets
			switch {
			case len(a) == 1 && len(b) == 1:
			case len(a) == 1:
				m.triangles = append(m.triangles, [3]uint32{a[0], b[l], b[k]})
			case len(b) == 1:
				m.triangles = append(m.triangles, [3]uint32{a[k], a[l], b[0]})
			default:
				m.triangles = append(m.triangles, [3]uint32{a[k], a[l], b[l]}, [3]uint32{a[k], b[l], b[k]})
			}
		}
	}
	return m
}

// meshAt returns the mesh of part i at ax, world frame, mm.
func meshAt(m *axes.Model, i int, ax axes.Angles) (mesh, error) {
	s, err := shape(m.Parts[i].Rig)
	if err != nil {
		return mesh{}, err
	}
	at := m.PartPose(i, ax)
	for k, v := range s.vertices {
		s.vertices[k] = at.Apply(v)
	}
	return s, nil
}
