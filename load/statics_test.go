package load

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/rig"
	"legroom/solid"
)

const arcsec = math.Pi / 180 / 3600

// near tells whether two figures agree to a share.
func near(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %.9g, want %.9g", what, got, want)
	}
}

// Tubes as cantilevers: Roark's closed forms [calc].
func TestCantilever(t *testing.T) {
	alu := Cantilever{DiameterMM: 100, WallMM: 3, LengthMM: 1000, ModulusGPa: 69}
	near(t, "I", alu.SecondMomentMM4(), 1.076246e6, 1e-6)
	d, tilt := alu.Top(200, 0)
	near(t, "deflection, mm", d, 0.897735, 1e-6)
	near(t, "tilt, arcsec", tilt/arcsec, 277.76, 2e-5)
	near(t, "frequency, Hz", alu.FrequencyHz(Burden{MassKg: 20, CantileverKg: 2.4683}), 16.558, 3e-5) // its own mass at 2700 kg/m³

	steel := Cantilever{DiameterMM: 168.3, WallMM: 4.5, LengthMM: 1200, ModulusGPa: 210}
	d, tilt = steel.Top(100, 0)
	near(t, "deflection, mm", d, 0.035291, 2e-5)
	near(t, "tilt, arcsec", tilt/arcsec, 9.099, 1e-4)

	// An end moment: δ = ML²/2EI, slope = ML/EI, by hand.
	ei := 69e3 * alu.SecondMomentMM4()
	d, tilt = alu.Top(0, 5000)
	near(t, "deflection by a moment", d, 5000*1e6/(2*ei), 1e-12)
	near(t, "tilt by a moment", tilt, 5000*1e3/ei, 1e-12)

	// The upright's own mass alone: 33/140 of it at the top.
	near(t, "own mass", alu.FrequencyHz(Burden{CantileverKg: 20.5818 * 140 / 33}), 16.558, 3e-5)
	// Solid is a wall of half of the diameter.
	near(t, "solid", Cantilever{DiameterMM: 100, WallMM: 50}.SecondMomentMM4(), math.Pi/64*1e8, 1e-12)
}

// A burden above the top lowers the frequency, and a massless mast on the upright with a point mass on it is a longer cantilever whose
// upper part is rigid: its flexibility at the mass is ∫(l + c − x)²/EI dx = (l³/3 + l²c + lc²)/EI.
func TestFrequencyOfHighBurden(t *testing.T) {
	c := Cantilever{DiameterMM: 120, WallMM: 4, LengthMM: 300, ModulusGPa: 69}
	for _, lever := range []float64{0, 50, 400, 1500} {
		m, l, ei := 40.0, 300.0, c.stiffness()*1000
		want := 1 / (2 * math.Pi * math.Sqrt(m*(l*l*l/3+l*l*lever+l*lever*lever)/ei))
		near(t, "point mass on a mast", c.FrequencyHz(Burden{MassKg: m, FirstKgMM: m * lever, SecondKgMM2: m * lever * lever}), want, 1e-9)
	}
}

// Tipping by hand [calc]: a tripod of radius 0.5 m, the centre of mass 0.03 m off towards an edge, 35 kg.
func TestTippingByHand(t *testing.T) {
	var feet []Foot
	for i := range 3 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 3)
		feet = append(feet, Foot{At: r3.Vec{X: 500 * s, Y: 500 * c}})
	}
	edges := polygon(feet)
	if len(edges) != 3 {
		t.Fatalf("%d edges", len(edges))
	}
	for i := range edges {
		e := &edges[i]
		near(t, "half of the radius", e.inside(r3.Vec{}), 250, 1e-12)
		d := e.inside(r3.Scale(30, e.normal))
		near(t, "distance, mm", d, 220, 1e-12)
		near(t, "moment, N·m", nm(35*d), 75.51, 1e-4)
	}

	tube := sailOf(&rig.Part{Shape: rig.Cylinder, SizeMM: []float64{250, 1000}})
	across := solid.Identity()
	area := tube.dragArea(&across, r3.Vec{X: 1})
	near(t, "drag area, mm²", area, 0.73*250*1000, 1e-12)
	drag := pressure(1.225, 10) * area
	near(t, "drag, N", drag, 11.178, 1e-4)
	near(t, "its moment, N·m", drag*1.3, 14.532, 1e-4)
	// At 1.225 kg/m³ it tips at 22.8 m/s; windSpeed takes the denser air of EN 1991-1-4.
	v := windSpeed(35*Gravity*220, area*1300)
	near(t, "wind, m/s", v*math.Sqrt(AirDensity/1.225), 22.8, 1e-3)
	if windSpeed(-1, 1) != 0 {
		t.Error("what falls by itself stands a wind")
	}
}

// Coefficients of a cylinder across the wind [mem], and what other shapes show from ahead.
func TestDrag(t *testing.T) {
	for slender, want := range map[float64]float64{0.1: 0.64, 1: 0.64, 2: 0.68, 2.5: 0.70, 3: 0.72, 5: 0.74, 10: 0.82, 15: 0.865, 20: 0.91, 21: 1.2} {
		near(t, "coefficient", coefficient(acrossCylinder, slender), want, 1e-12)
	}
	at := solid.Identity()
	box := sailOf(&rig.Part{Shape: rig.Box, SizeMM: []float64{100, 200, 1000}})
	near(t, "box from x", box.dragArea(&at, r3.Vec{X: -1}), 1.2*200*1000, 1e-12)
	near(t, "box from z", box.dragArea(&at, r3.Vec{Z: 1}), coefficient(plate, 2)*100*200, 1e-12)
	near(t, "ball", sailPtr(rig.Sphere, 200).dragArea(&at, r3.Vec{Y: 1}), 0.5*math.Pi*1e4, 1e-12)
	near(t, "cylinder end on", sailPtr(rig.Cylinder, 200, 500).dragArea(&at, r3.Vec{Z: 1}), 1.15*math.Pi*1e4, 1e-12)
}

func sailPtr(k rig.ShapeKind, size ...float64) *sail {
	s := sailOf(&rig.Part{Shape: k, SizeMM: size})
	return &s
}

// The bounds that the search relies on: no direction shows more than greatest, and two directions an angle apart differ by
// no more than steepest × the angle. A box's real silhouette, the sum of its faces' projections, is never shown smaller.
func TestDragBounds(t *testing.T) {
	const seed = 6
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	unit := func() r3.Vec { return r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}) }
	at := solid.Identity()
	for range 2000 {
		a, b, c := 10+r.Float64()*500, 10+r.Float64()*500, 10+r.Float64()*900
		for kind, size := range map[rig.ShapeKind][]float64{rig.Box: {a, b, c}, rig.Cylinder: {a, c}, rig.Cone: {a, b, c}, rig.Capsule: {a, c}, rig.Sphere: {a}} {
			s := sailPtr(kind, size...)
			u, v := unit(), unit()
			if r.IntN(2) == 0 {
				v = r3.Unit(r3.Add(u, r3.Scale(1e-3, v)))
			}
			angle := math.Atan2(r3.Norm(r3.Cross(u, v)), r3.Dot(u, v))
			x, y := s.dragArea(&at, u), s.dragArea(&at, v)
			if math.Abs(x-y) > s.steepest*angle*(1+1e-9)+1e-6 {
				t.Fatalf("%s %v: %g and %g at %g rad, steepest %g", kind, size, x, y, angle, s.steepest)
			}
			if x > s.greatest*(1+1e-12) {
				t.Fatalf("%s %v: %g above the greatest %g", kind, size, x, s.greatest)
			}
			if kind == rig.Box {
				if face := b*c*math.Abs(u.X) + a*c*math.Abs(u.Y) + a*b*math.Abs(u.Z); x < face {
					t.Fatalf("box %v: drag area %g below its silhouette %g", size, x, face)
				}
			}
		}
	}
}

// The polygon of random feet against an independent one: every pair of feet with all others on one side makes a half-plane, and the
// distance of a point inside of it is the least over those.
func TestPolygon(t *testing.T) {
	const seed = 7
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	for range 3000 {
		feet := make([]Foot, 3+r.IntN(6))
		for i := range feet {
			feet[i].At = r3.Vec{X: r.NormFloat64() * 400, Y: r.NormFloat64() * 400, Z: r.Float64()}
		}
		if r.IntN(4) == 0 { // doubled, and in a row with two others
			feet = append(feet, feet[0], Foot{At: r3.Scale(0.5, r3.Add(feet[0].At, feet[1].At))})
		}
		p := r3.Vec{X: r.NormFloat64() * 300, Y: r.NormFloat64() * 300}
		want := halfPlanes(feet, p)
		got := math.Inf(1)
		edges := polygon(feet)
		for i := range edges {
			got = math.Min(got, edges[i].inside(p))
		}
		if math.Abs(got-want) > 1e-6 {
			t.Fatalf("%v from %v: %g, by half-planes %g", p, feet, got, want)
		}
	}
	row := []Foot{{At: r3.Vec{}}, {At: r3.Vec{X: 1, Y: 1}}, {At: r3.Vec{X: 2, Y: 2}}}
	if len(polygon(row)) != 0 || len(polygon(row[:2])) != 0 {
		t.Error("feet in a row have a polygon")
	}
}

func halfPlanes(feet []Foot, p r3.Vec) float64 {
	least := math.Inf(1)
	for i := range feet {
		for j := range feet {
			d := r3.Sub(feet[j].At, feet[i].At)
			d.Z = 0
			if r3.Norm(d) < 1e-9 {
				continue
			}
			out := r3.Unit(r3.Vec{X: d.Y, Y: -d.X})
			outside := func(f Foot) bool { return r3.Dot(out, r3.Sub(f.At, feet[i].At)) > 1e-9 }
			border := true
			for _, f := range feet {
				border = border && !outside(f)
			}
			if border {
				least = math.Min(least, -r3.Dot(out, r3.Sub(p, feet[i].At)))
			}
		}
	}
	return least
}
