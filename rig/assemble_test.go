package rig

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// plain is a rig with few, round lengths, so that its parts' places can be worked out by hand.
func plain(lat float64) *Rig {
	r := &Rig{Legroom: 1, Name: "plain"}
	r.Site.LatitudeDeg = lat
	r.Support = Support{
		Kind: Tripod, HeightMM: mm(1000, 0), Head: &Disc{mm(200, 0), mm(40, 0)},
		Legs:      &Legs{FirstAzimuthDeg: deg(90, 0), HipRadiusMM: mm(80, 0), FootRadiusMM: mm(800, 0), Section: Round, WidthMM: mm(40, 0)},
		Tray:      &Tray{mm(300, 0), mm(250, 0), mm(10, 0)},
		Spreader:  &Spreader{mm(480, 0), mm(20, 0)},
		Extension: &Column{DiameterMM: mm(100, 0), HeightMM: mm(200, 0)},
		Obstacles: []ExtraPart{{Name: "post", Shape: Cylinder, SizeMM: []Length{mm(80, 0), mm(1000, 0)}, AtMM: []Length{mm(1500, 0), mm(0, 0), mm(500, 0)}}},
	}
	r.Mount = Mount{
		Base: &Base{DiameterMM: mm(150, 0), HeightMM: mm(80, 0)}, CrossingMM: Crossing{mm(300, 0), mm(50, 0)},
		PolarAxis:          &PolarSet{deg(math.Abs(lat), 0), deg(0, 0)},
		Zero:               &ZeroError{deg(0, 0), deg(0, 0), deg(0, 0)},
		PolarHousing:       Barrel{DiameterMM: mm(120, 0), FromMM: mm(-200, 0), ToMM: mm(-40, 0)},
		DeclinationHousing: Barrel{DiameterMM: mm(100, 0), FromMM: mm(-90, 0), ToMM: mm(150, 0)},
		Counterweights:     &Counterweight{BarDiameterMM: mm(30, 0), BarEndMM: mm(450, 0), Weights: []Weight{{AtMM: mm(300, 0), DiameterMM: mm(180, 0), ThicknessMM: mm(60, 0)}}},
		SaddleDistanceMM:   mm(180, 0), Saddle: &Plate{LengthMM: mm(200, 0), WidthMM: mm(100, 0), ThicknessMM: mm(30, 0)},
	}
	r.Tube = Tube{
		AxisDistanceMM: mm(100, 0), SlideMM: mm(25, 0),
		Dovetail: &Plate{LengthMM: mm(300, 0), WidthMM: mm(75, 0), ThicknessMM: mm(15, 0)},
		TopRail:  &Plate{LengthMM: mm(300, 0), WidthMM: mm(45, 0), ThicknessMM: mm(12, 0)},
		Sections: []TubePiece{
			{Name: "tube", FromMM: mm(-400, 0), ToMM: mm(300, 0), DiameterMM: mm(130, 0)},
			{Name: "dew shield", FromMM: mm(300, 0), ToMM: mm(500, 0), DiameterMM: mm(150, 0), EndDiameterMM: mm(170, 0), Condition: "shield on"},
		},
		Train: &Train{FromMM: mm(-400, 0), Rotator: Rotator{AngleDeg: deg(90, 0)}, Items: []Item{
			{Name: "focuser", LengthMM: mm(100, 0), DiameterMM: mm(90, 0), TravelMM: mm(40, 0)},
			{Name: "filter wheel", LengthMM: mm(40, 0), DiameterMM: mm(200, 0), OffsetXMM: mm(60, 0), Turns: true},
			{Name: "guide camera", LengthMM: mm(30, 0), DiameterMM: mm(40, 0), OffsetYMM: mm(70, 0), Beside: true},
			{Name: "camera", LengthMM: mm(120, 0), Section: Square, WidthMM: mm(80, 0), HeightMM: mm(100, 0), Turns: true},
		}},
		GuideTubes: []GuideTube{{Name: "guide tube", FromMM: mm(-100, 0), ToMM: mm(100, 0), DiameterMM: mm(60, 0), BesideMM: mm(120, 0), AngleDeg: deg(90, 0)}},
		Parts:      []ExtraPart{{Name: "power box", Shape: Box, SizeMM: []Length{mm(40, 0), mm(80, 0), mm(120, 0)}, AtMM: []Length{mm(200, 0), mm(10, 0), mm(-30, 0)}}},
	}
	r.Conditions = []Condition{{Name: "shield on"}}
	return numbered(r)
}

func named(t *testing.T, a *Assembly, name string) *Part {
	t.Helper()
	for i := range a.Parts {
		if a.Parts[i].Name == name {
			return &a.Parts[i]
		}
	}
	t.Fatalf("no part %q", name)
	return nil
}

var asMeasured = Conditions{FocuserTravel: HoldsNot, RotatorSweep: HoldsNot}

// Places worked out by hand from the lengths of plain.
func TestPlacesByHand(t *testing.T) {
	for _, lat := range []float64{40, -40} {
		s := math.Copysign(1, lat)
		a := mustAssemble(t, plain(lat), asMeasured)
		if want := [3]float64{0, s * 50, 1500}; a.CrossingMM != want {
			t.Errorf("latitude %g: crossing %v, want %v", lat, a.CrossingMM, want)
		}
		for _, c := range []struct {
			name   string
			frame  Frame
			shape  ShapeKind
			size   []float64
			centre r3.Vec
			z      r3.Vec // the shape's z axis, up to sign
		}{
			{"pier extension", Ground, Cylinder, []float64{100, 200}, r3.Vec{Z: 1100}, zAxis},
			{"tripod head", Ground, Cylinder, []float64{200, 40}, r3.Vec{Z: 980}, zAxis},
			// Hip (80, 0, 960), foot (800, 0, 0): 720 out over 960 up is 1200 long.
			{"leg 1", Ground, Cylinder, []float64{40, 1200}, r3.Vec{X: 440, Z: 480}, r3.Vec{X: -0.6, Z: 0.8}},
			{"leg 2", Ground, Cylinder, []float64{40, 1200}, r3.Vec{X: -220, Y: -220 * math.Sqrt(3), Z: 480}, r3.Vec{X: 0.3, Y: 0.3 * math.Sqrt(3), Z: 0.8}},
			{"tray", Ground, Cylinder, []float64{250, 10}, r3.Vec{Z: 295}, zAxis},
			{"spreader 1", Ground, Cylinder, []float64{20, 440}, r3.Vec{X: 220, Z: 480}, xAxis},
			{"mount base", Ground, Cylinder, []float64{150, 80}, r3.Vec{Z: 1240}, zAxis},
			{"post", Ground, Cylinder, []float64{80, 1000}, r3.Vec{X: 1500, Z: 500}, zAxis},
			{"polar housing", Polar, Cylinder, []float64{120, 160}, r3.Vec{Z: -120}, zAxis},
			{"declination housing", Arm, Cylinder, []float64{100, 240}, r3.Vec{X: 30}, xAxis},
			{"counterweight bar", Arm, Cylinder, []float64{30, 360}, r3.Vec{X: -270}, xAxis},
			{"counterweight 1", Arm, Cylinder, []float64{180, 60}, r3.Vec{X: -300}, xAxis},
			{"saddle", TubeFrame, Box, []float64{30, 100, 200}, r3.Vec{X: 165}, zAxis},
			{"dovetail", TubeFrame, Box, []float64{15, 75, 300}, r3.Vec{X: 187.5}, zAxis},
			{"top rail", TubeFrame, Box, []float64{12, 45, 300}, r3.Vec{X: 280 + 85 + 6}, zAxis},
			{"tube", TubeFrame, Cylinder, []float64{130, 700}, r3.Vec{X: 280, Z: -25}, zAxis},
			{"dew shield", TubeFrame, Cone, []float64{150, 170, 200}, r3.Vec{X: 280, Z: 425}, zAxis},
			{"focuser", TubeFrame, Cylinder, []float64{90, 100}, r3.Vec{X: 280, Z: -425}, zAxis},
			// The rotator at 90° turns its x to the tube's y.
			{"filter wheel", TubeFrame, Cylinder, []float64{200, 40}, r3.Vec{X: 280, Y: 60, Z: -495}, zAxis},
			{"guide camera", TubeFrame, Cylinder, []float64{40, 30}, r3.Vec{X: 280, Y: 70, Z: -500}, zAxis},
			{"camera", TubeFrame, Box, []float64{80, 100, 120}, r3.Vec{X: 280, Z: -575}, zAxis},
			{"guide tube", TubeFrame, Cylinder, []float64{60, 200}, r3.Vec{X: 280, Y: 120, Z: 25}, zAxis},
			{"power box", TubeFrame, Box, []float64{40, 80, 120}, r3.Vec{X: 380, Y: 10, Z: -30}, zAxis},
		} {
			p := named(t, a, c.name)
			at := placing(p.Place)
			if p.Frame != c.frame || p.Shape != c.shape {
				t.Errorf("%s: %s in %s, want %s in %s", c.name, p.Shape, p.Frame, c.shape, c.frame)
			}
			for i := range c.size {
				if math.Abs(p.SizeMM[i]-c.size[i]) > 1e-9 {
					t.Errorf("%s: size %v, want %v", c.name, p.SizeMM, c.size)
				}
			}
			if d := r3.Norm(r3.Sub(at.apply(r3.Vec{}), c.centre)); d > 1e-9 {
				t.Errorf("latitude %g, %s: centre %v, want %v", lat, c.name, at.apply(r3.Vec{}), c.centre)
			}
			if d := r3.Norm(r3.Cross(at.direction(zAxis), c.z)); d > 1e-9 {
				t.Errorf("%s: z axis %v, want ±%v", c.name, at.direction(zAxis), c.z)
			}
		}
		camera := placing(named(t, a, "camera").Place)
		if x := camera.direction(xAxis); r3.Norm(r3.Sub(x, yAxis)) > 1e-12 {
			t.Errorf("rotator at 90°: the camera's x is %v, want the tube's y", x)
		}
	}
}

// A side outlet, by hand: tube axis at x = 280, station 350 + slide 25.
func TestSideOutletByHand(t *testing.T) {
	r := plain(40)
	tr := r.Tube.Train
	tr.Outlet, tr.FromMM, tr.StartMM = Side, mm(350, 0), mm(70, 0)
	for _, c := range []struct{ side, turn float64 }{{0, 0}, {90, 0}, {0, 90}, {90, 90}, {-45, 30}} {
		tr.SideAngleDeg, tr.Rotator.AngleDeg = deg(c.side, 0), deg(c.turn, 0)
		a := mustAssemble(t, numbered(r), asMeasured)
		ss, cs := math.Sincos(c.side * rad)
		st, ct := math.Sincos(c.turn * rad)
		out, round := r3.Vec{X: cs, Y: ss}, r3.Vec{X: -ss, Y: cs} // outwards, and round the tube
		axis := r3.Vec{X: 280, Z: 375}
		for _, w := range []struct {
			name string
			at   r3.Vec
		}{
			{"focuser", r3.Add(axis, r3.Scale(70+50, out))},
			// x starts forward along the tube and turns towards increasing side angle; 60 mm of offset.
			{"filter wheel", r3.Add(r3.Add(axis, r3.Scale(70+120, out)), r3.Add(r3.Vec{Z: 60 * ct}, r3.Scale(60*st, round)))},
			{"guide camera", r3.Add(r3.Add(axis, r3.Scale(70+125, out)), r3.Scale(70, round))},
			{"camera", r3.Add(axis, r3.Scale(70+200, out))},
		} {
			if got := placing(named(t, a, w.name).Place).apply(r3.Vec{}); r3.Norm(r3.Sub(got, w.at)) > 1e-9 {
				t.Errorf("side %g°, rotator %g°: %s at %v, want %v", c.side, c.turn, w.name, got, w.at)
			}
		}
	}
}

// The support leans about the world's origin, towards its azimuth; obstacles and the polar axis stay. The head's azimuth
// error moves the crossing's offset and the legs that are measured from the polar axis, clockwise.
func TestLeanAndBearing(t *testing.T) {
	r := plain(40)
	r.Support.Level = &Level{deg(30, 0), deg(90, 0)} // to the east
	a := mustAssemble(t, numbered(r), nil)
	want := [3]float64{1500 * 0.5, 50, 1500 * math.Cos(30*rad)}
	for i := range want {
		if math.Abs(a.CrossingMM[i]-want[i]) > 1e-9 {
			t.Fatalf("leant crossing %v, want %v", a.CrossingMM, want)
		}
	}
	if got := placing(named(t, a, "post").Place).apply(r3.Vec{}); got != (r3.Vec{X: 1500, Z: 500}) {
		t.Errorf("the post leans along: %v", got)
	}
	for _, lat := range []float64{40, -40} {
		r = plain(lat)
		r.Support.Legs.MeasuredFrom, r.Support.Legs.FirstAzimuthDeg = PolarAxis, deg(0, 0)
		r.Mount.PolarAxis.AzimuthErrorDeg = deg(90, 0)
		a = mustAssemble(t, numbered(r), nil)
		east := math.Copysign(1, lat) // clockwise of north is east, of south west
		if d := math.Hypot(a.CrossingMM[0]-east*50, a.CrossingMM[1]); d > 1e-9 {
			t.Errorf("latitude %g, head turned 90°: crossing %v", lat, a.CrossingMM)
		}
		if got := placing(named(t, a, "leg 1").Place).apply(r3.Vec{}); r3.Norm(r3.Sub(got, r3.Vec{X: east * 440, Z: 480})) > 1e-9 {
			t.Errorf("latitude %g: the leg under the polar axis is at %v", lat, got)
		}
	}
}

// Every place is a proper rigid move, at both hemispheres, with every feature.
func TestPlacesAreRigid(t *testing.T) {
	for k := range 48 {
		a := mustAssemble(t, madeUp(rand.New(rand.NewPCG(uint64(k), 3)), k, 1), nil)
		for _, p := range a.Parts {
			at := placing(p.Place)
			x, y, z := at.direction(xAxis), at.direction(yAxis), at.direction(zAxis)
			for _, e := range []float64{r3.Norm(x) - 1, r3.Norm(y) - 1, r3.Dot(x, y), r3.Norm(r3.Sub(r3.Cross(x, y), z))} {
				if math.Abs(e) > 1e-12 {
					t.Errorf("rig %d, %s: axes %v %v %v", k, p.Name, x, y, z)
				}
			}
		}
	}
}

// At −φ, with tube y → −y, the p × component of arm and head negated and world y → −y, the parts are the mirror image.
func TestHemispheresMirror(t *testing.T) {
	const seed = 11
	rng := rand.New(rand.NewPCG(seed, 1))
	for k := range 12 {
		r := madeUp(rand.New(rand.NewPCG(seed, uint64(k))), k, 1)
		a := mustAssemble(t, r, nil)
		negate := func(q *Quantity) { q.Value = -q.Value }
		r.Site.LatitudeDeg = -r.Site.LatitudeDeg
		if g := r.Support.Legs; g != nil {
			if negate(&g.FirstAzimuthDeg.Quantity); g.MeasuredFrom != PolarAxis {
				g.FirstAzimuthDeg.Value += 180
			}
		}
		if v := r.Support.Level; v != nil {
			v.AzimuthDeg.Value = 180 - v.AzimuthDeg.Value
		}
		negate(&r.Mount.PolarAxis.AzimuthErrorDeg.Quantity)
		tr := r.Tube.Train
		negate(&tr.SideAngleDeg.Quantity)
		negate(&tr.Rotator.AngleDeg.Quantity)
		if tr.Rotator.SweepFromDeg != nil {
			from, to := -*tr.Rotator.SweepToDeg, -*tr.Rotator.SweepFromDeg
			tr.Rotator.SweepFromDeg, tr.Rotator.SweepToDeg = &from, &to
		}
		for i := range tr.Items {
			negate(&tr.Items[i].OffsetYMM.Quantity)
		}
		negate(&r.Tube.GuideTubes[0].AngleDeg.Quantity)
		for _, list := range [][]ExtraPart{r.Support.Obstacles, r.Mount.Parts, r.Tube.Parts, r.Parts} {
			for i := range list {
				negate(&list[i].AtMM[1].Quantity)
				if len(list[i].Direction) > 0 {
					list[i].Direction[1] *= -1
				}
				negate(&list[i].TurnDeg.Quantity)
			}
		}
		b := mustAssemble(t, r, nil)
		for _, p := range a.Parts {
			name := p.Name // the legs and the covers of a sweep come the other way round
			for _, n := range []string{"leg ", "spreader "} {
				name = strings.NewReplacer(n+"2", n+"3", n+"3", n+"2").Replace(name)
			}
			var q *Part
			if stem, angle, ok := strings.Cut(name, " at "); ok {
				q = named(t, b, stem+" at "+strings.TrimPrefix("-"+angle, "--"))
			} else {
				q = named(t, b, name)
			}
			pa, qa := placing(p.Place), placing(q.Place)
			for range 50 {
				n := sphereDirection(rng)
				m := r3.Vec{X: n.X, Y: -n.Y, Z: n.Z}
				if x, y := supportValue(&p, &pa, n), supportValue(q, &qa, m); math.Abs(x-y) > 1e-9 {
					t.Fatalf("rig %d, %s: %g, mirrored %g", k, p.Name, x, y)
				}
			}
		}
	}
}

// What moves by itself stays inside its cover: at any angle of the sweep and any travel of the focuser, and as measured.
func TestCoversHoldWhatMoves(t *testing.T) {
	const seed = 5
	rng := rand.New(rand.NewPCG(seed, 1))
	for k := range 200 {
		r := madeUp(rand.New(rand.NewPCG(seed, uint64(k))), k, 1)
		cover := mustAssemble(t, r, nil)
		tr := r.Tube.Train
		if tr.Rotator.SweepFromDeg != nil {
			tr.Rotator.AngleDeg.Value = *tr.Rotator.SweepFromDeg + rng.Float64()*(*tr.Rotator.SweepToDeg-*tr.Rotator.SweepFromDeg)
		}
		tr.Items[0].LengthMM.Value += rng.Float64() * tr.Items[0].TravelMM.Value
		now := mustAssemble(t, r, asMeasured)
		for _, it := range tr.Items {
			p := named(t, now, it.Name)
			if p.TravelMM != 0 || p.Swept {
				t.Fatalf("case %d: %s as measured has %v mm of travel in it, swept: %v", k, it.Name, p.TravelMM, p.Swept)
			}
			inside := false
			for i := range cover.Parts {
				c := &cover.Parts[i]
				if c.Name != it.Name && !strings.HasPrefix(c.Name, it.Name+" at ") {
					continue
				}
				out := math.Inf(-1)
				pa, ca := placing(p.Place), placing(c.Place)
				for range 300 {
					n := sphereDirection(rng)
					out = math.Max(out, supportValue(p, &pa, n)-supportValue(c, &ca, n))
				}
				inside = inside || out <= 1e-9
				// What makes a cover larger than the piece as measured is said of it.
				longer, wider := c.SizeMM[len(c.SizeMM)-1]-it.LengthMM.Value, !slices.Equal(c.SizeMM[:len(c.SizeMM)-1], p.SizeMM[:len(p.SizeMM)-1])
				if it.Name != tr.Items[0].Name && math.Abs(longer-c.TravelMM) > 1e-9 || c.TravelMM != tr.Items[0].TravelMM.Value || wider && !c.Swept {
					t.Fatalf("case %d: %s is longer by %v mm and wider: %v, and says %v mm, %v", k, c.Name, longer, wider, c.TravelMM, c.Swept)
				}
			}
			if !inside {
				t.Errorf("seed %d, rig %d: %s at %g° is not inside its cover", seed, k, it.Name, tr.Rotator.AngleDeg.Value)
			}
		}
	}
}

func TestJoints(t *testing.T) {
	r := plain(40)
	r.Joints = []Joint{{"power box", "counterweight bar"}}
	a := mustAssemble(t, r, nil)
	var got []string
	for _, j := range a.Joined {
		if j[0] >= j[1] {
			t.Errorf("joint %v is not in order", j)
		}
		got = append(got, a.Parts[j[0]].Name+"–"+a.Parts[j[1]].Name)
	}
	want := []string{"polar housing–declination housing", "declination housing–saddle", "declination housing–dovetail", "counterweight bar–power box"}
	if !slices.Equal(got, want) {
		t.Errorf("joints %q, want %q", got, want)
	}
	for name, remedy := range map[string]string{"counterwait bar": `did you mean "counterweight bar"?`, "a thing of mine": `the parts are "`} {
		r.Joints = []Joint{{"power box", name}}
		if _, err := r.Assemble(nil); err == nil || !strings.Contains(err.Error(), fmt.Sprintf("joints[0][1]: there is no part %q; %s", name, remedy)) {
			t.Errorf("a joint with a part that is not there: %v", err)
		}
	}
}

func TestConditions(t *testing.T) {
	r := plain(40)
	r.Joints = []Joint{{"dew shield", "counterweight bar"}}
	for state, there := range map[State]bool{Unknown: true, Holds: true, HoldsNot: false} {
		a := mustAssemble(t, r, Conditions{"shield on": state})
		got := slices.ContainsFunc(a.Parts, func(p Part) bool { return p.Name == "dew shield" })
		if got != there {
			t.Errorf("state %d: dew shield there is %v", state, got)
		}
	}
	if _, err := r.Assemble(Conditions{"shield off": Holds}); err == nil || !strings.Contains(err.Error(), "shield on") {
		t.Errorf("an unknown condition: %v", err)
	}
	// The travel of 40 mm lengthens the focuser and all behind it.
	a, b := mustAssemble(t, r, asMeasured), mustAssemble(t, r, nil)
	for _, n := range []string{"focuser", "filter wheel", "guide camera", "camera"} {
		p, q := named(t, a, n), named(t, b, n)
		last := len(p.SizeMM) - 1
		if d := q.SizeMM[last] - p.SizeMM[last]; math.Abs(d-40) > 1e-9 {
			t.Errorf("%s: %g mm longer over the focuser's travel, want 40", n, d)
		}
	}
}

func TestLengthsThatGiveNoSolid(t *testing.T) {
	for _, c := range []struct {
		want string
		bad  func(r *Rig)
	}{
		{"bar ends 80 mm", func(r *Rig) { r.Mount.Counterweights.BarEndMM.Value = 80 }},
		{"every size must be above 0", func(r *Rig) { r.Tube.Sections[0].ToMM.Value = -500 }},
		{"hips are at 970 mm", func(r *Rig) {
			r.Support.Column = &Column{DiameterMM: mm(90, 0)}
			r.Support.Legs.HipHeightMM = mm(970, 0)
		}},
		{"the spreader is at 990 mm", func(r *Rig) { r.Support.Spreader.HeightMM.Value = 990 }},
		{"give the travel to the focuser", func(r *Rig) { r.Tube.Train.Items[2].TravelMM.Value = 5 }},
		{"here are 1 sizes; a box has 3", func(r *Rig) { r.Tube.Parts[0].SizeMM = r.Tube.Parts[0].SizeMM[:1] }},
		{"read it with Load", func(r *Rig) { r.Mount.Zero = nil }},
	} {
		r := plain(40)
		c.bad(r)
		if _, err := r.Assemble(nil); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want an error with %q", err, c.want)
		}
	}
}
