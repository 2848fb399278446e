package rig

import (
	"fmt"
	"math/rand/v2"
	"reflect"
)

// mm and deg write a measured length and angle into a made-up rig.
func mm(value, tol float64) Length {
	return Length{Quantity{Value: value, Tol: tol, Unit: "mm", Source: Measured}}
}

func deg(value, tol float64) Angle {
	return Angle{Quantity{Value: value, Tol: tol, Unit: "deg", Source: Measured}}
}

func kg(value float64) Mass { return Mass{Quantity{Value: value, Unit: "kg", Source: Measured}} }

// numbered numbers the quantities of a rig made in Go, in the order of its fields, as Load does.
func numbered(r *Rig) *Rig {
	r.Path, r.Quantities = "made-up", nil
	var walk func(v reflect.Value, path string)
	walk = func(v reflect.Value, path string) {
		switch v.Kind() {
		case reflect.Pointer:
			if !v.IsNil() {
				walk(v.Elem(), path)
			}
		case reflect.Slice:
			for i := range v.Len() {
				walk(v.Index(i), fmt.Sprintf("%s[%d]", path, i))
			}
		case reflect.Struct:
			if q, ok := v.Addr().Interface().(*Quantity); ok {
				if q.Set() {
					q.ID, q.Path = len(r.Quantities), path
					r.Quantities = append(r.Quantities, q)
				}
				return
			}
			for i := range v.NumField() {
				f := v.Type().Field(i)
				switch {
				case !f.IsExported() || f.Name == "Quantities":
				case f.Anonymous:
					walk(v.Field(i), path)
				default:
					walk(v.Field(i), path+"."+f.Name)
				}
			}
		}
	}
	walk(reflect.ValueOf(r).Elem(), "")
	return r
}

// madeUp draws a rig with every feature somewhere: k picks which, grip scales the tolerances (1: rough, 0.1: careful).
func madeUp(rng *rand.Rand, k int, grip float64) *Rig {
	in := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	l := func(lo, hi float64) Length { return mm(in(lo, hi), grip*in(2, 10)) }
	a := func(lo, hi float64) Angle { return deg(in(lo, hi), grip*in(1, 5)) }
	r := &Rig{Legroom: 1, Name: "made-up"}
	r.Site.LatitudeDeg = in(5, 85)
	if k%2 == 1 {
		r.Site.LatitudeDeg *= -1
	}
	lat := max(r.Site.LatitudeDeg, -r.Site.LatitudeDeg)

	s := &r.Support
	s.HeightMM = l(700, 1200)
	if k%3 != 2 {
		s.Kind = Tripod
		s.Legs = &Legs{FirstAzimuthDeg: a(0, 360), HipRadiusMM: l(60, 120), FootRadiusMM: l(350, 600), Section: Round, WidthMM: l(30, 60)}
		if k%4 >= 2 {
			s.Legs.Section, s.Legs.DepthMM = Square, l(30, 80)
		}
		if k%8 == 2 {
			s.Legs.DepthMM = Length{}
		}
		if k%5 >= 3 {
			s.Legs.MeasuredFrom = PolarAxis
		}
		if k%3 == 0 {
			s.Head = &Disc{l(150, 250), mm(in(30, 60), grip*in(1, 4))}
		} else {
			s.Legs.HipHeightMM = l(400, 600)
			s.Column = &Column{DiameterMM: l(80, 150), MassKg: kg(3)}
		}
		s.Tray = &Tray{l(150, 350), l(200, 300), mm(in(10, 20), grip*in(0.1, 0.5))}
		s.Spreader = &Spreader{l(100, 380), mm(in(10, 30), grip*in(0.5, 4))}
	} else {
		s.Kind = Pier
		s.DiameterMM = l(120, 250)
		s.TopPlate = &Disc{l(250, 350), mm(in(15, 30), grip*in(0.5, 3))}
	}
	if k%4 == 1 || k%4 == 2 {
		s.Extension = &Column{DiameterMM: l(80, 150), HeightMM: l(100, 300), MassKg: kg(4)}
	}
	if k%5 >= 2 {
		s.Level = &Level{deg(in(0, 6), grip*in(0.5, 2)), a(0, 360)}
	}
	s.Obstacles = []ExtraPart{
		{Name: "wall", Shape: Box, SizeMM: []Length{l(1000, 3000), l(100, 200), l(1000, 2000)}, AtMM: []Length{l(-2000, 2000), l(800, 2000), l(500, 1000)}, TurnDeg: a(0, 360)},
		{Name: "post", Shape: Capsule, SizeMM: []Length{l(60, 200), l(500, 2000)}, AtMM: []Length{l(-2000, 2000), l(-2000, 2000), l(0, 2000)}, Direction: []float64{in(-1, 1), in(-1, 1), in(-1, 1)}},
		{Name: "ball", Shape: Sphere, SizeMM: []Length{l(100, 600)}, AtMM: []Length{l(-2000, 2000), l(-2000, 2000), l(0, 2000)}},
	}

	m := &r.Mount
	m.Base = &Base{DiameterMM: l(120, 200), HeightMM: l(60, 100), MassKg: kg(5)}
	m.CrossingMM = Crossing{l(200, 350), l(-30, 80)}
	m.PolarAxis = &PolarSet{deg(lat+in(-1, 1), grip*2), deg(in(-20, 20), grip*2)}
	m.Zero = &ZeroError{deg(in(-2, 2), grip*2), deg(in(-2, 2), grip*2), deg(in(-3, 3), grip*2)}
	m.PolarHousing = Barrel{l(100, 160), l(-250, -150), l(-50, 60), kg(8)}
	m.DeclinationHousing = Barrel{l(90, 130), l(-120, -60), l(120, 160), kg(5)}
	if k%4 != 3 {
		m.Counterweights = &Counterweight{l(20, 40), l(400, 500), kg(2), []Weight{{l(200, 260), l(150, 200), l(40, 70), kg(5)}, {l(300, 360), l(150, 200), l(40, 70), kg(5)}}}
	}
	m.SaddleDistanceMM = l(170, 200)
	m.Saddle = &Plate{l(-20, 20), l(150, 250), l(80, 110), l(20, 40), kg(1)}
	m.Parts = []ExtraPart{
		{Name: "motor", Shape: Box, SizeMM: []Length{l(60, 90), l(60, 90), l(80, 120)}, AtMM: []Length{l(40, 100), l(70, 120), l(-80, 80)}, Direction: []float64{in(-1, 1), in(-1, 1), in(-1, 1)}, TurnDeg: a(0, 360)},
		{Name: "knob", Frame: Polar, Shape: Cylinder, SizeMM: []Length{l(30, 60), l(30, 60)}, AtMM: []Length{l(40, 100), l(70, 120), l(-80, 80)}, Direction: []float64{0, 0, -1}},
	}

	t := &r.Tube
	t.AxisDistanceMM = l(90, 130)
	t.SlideMM = l(-40, 40)
	t.Dovetail = &Plate{l(-20, 20), l(300, 400), l(75, 100), mm(in(10, 20), grip*in(0.5, 2)), kg(1)}
	t.TopRail = &Plate{l(-20, 20), l(300, 400), l(40, 60), mm(in(10, 20), grip*in(0.5, 2)), kg(1)}
	t.Sections = []TubePiece{
		{Name: "tube", FromMM: l(-450, -350), ToMM: l(300, 400), DiameterMM: l(100, 150), MassKg: kg(6)},
		{Name: "dew shield", FromMM: l(410, 440), ToMM: l(500, 700), DiameterMM: l(150, 180), EndDiameterMM: l(180, 220)},
		{Name: "panel", FromMM: l(700, 720), ToMM: l(750, 780), DiameterMM: l(180, 220), Condition: "panel in front"},
	}
	r.Conditions = []Condition{{Name: "panel in front"}}
	t.Train = &Train{Outlet: Back, FromMM: l(-450, -350), Rotator: Rotator{AngleDeg: a(-180, 180)}, Items: []Item{
		{Name: "focuser", LengthMM: l(80, 120), DiameterMM: l(80, 120), TravelMM: l(30, 60)},
		{Name: "guider", LengthMM: l(30, 50), Section: Square, WidthMM: l(90, 110), HeightMM: l(90, 110), Turns: true},
		{Name: "guide camera", LengthMM: l(30, 50), DiameterMM: l(30, 45), OffsetYMM: l(60, 90), Beside: true, Turns: true},
		{Name: "filter wheel", LengthMM: l(30, 50), DiameterMM: l(180, 220), OffsetXMM: l(40, 60), OffsetYMM: l(-20, 20), Turns: true, MassKg: kg(1)},
		{Name: "camera", LengthMM: l(80, 120), Section: Square, WidthMM: l(70, 110), HeightMM: l(70, 110), OffsetXMM: l(-10, 10), OffsetYMM: l(-5, 5), Turns: true},
		{Name: "plug", LengthMM: l(40, 60), Section: Square, WidthMM: l(20, 40), HeightMM: l(20, 40), OffsetXMM: l(-40, 40)},
	}}
	if k%3 == 1 {
		t.Train.Outlet, t.Train.SideAngleDeg, t.Train.StartMM = Side, a(-180, 180), l(60, 80)
	}
	if w := [4]float64{0, 50, 110, 250}[k/2%4]; w > 0 {
		from := in(-180, 180)
		to := from + w
		t.Train.Rotator.SweepFromDeg, t.Train.Rotator.SweepToDeg = &from, &to
	}
	t.GuideTubes = []GuideTube{{Name: "guide tube", FromMM: l(-150, -100), ToMM: l(100, 200), DiameterMM: l(50, 70), BesideMM: l(100, 150), AngleDeg: a(-180, 180)}}
	t.Parts = []ExtraPart{
		{Name: "power box", Shape: Box, SizeMM: []Length{l(60, 90), l(80, 120), l(30, 50)}, AtMM: []Length{l(180, 240), l(-40, 40), l(-80, 80)}, Direction: []float64{in(-1, 1), in(-1, 1), in(-1, 1)}, TurnDeg: a(0, 360)},
		{Name: "horn", Shape: Cone, SizeMM: []Length{l(60, 90), l(20, 40), l(80, 120)}, AtMM: []Length{l(180, 240), l(-40, 40), l(-80, 80)}, Direction: []float64{in(-1, 1), in(-1, 1), in(-1, 1)}},
	}
	r.Parts = []ExtraPart{{Name: "table", Shape: Box, SizeMM: []Length{l(500, 900), l(500, 900), l(30, 60)}, AtMM: []Length{l(1000, 1500), l(-1000, 1000), l(700, 800)}}}
	return numbered(r)
}
