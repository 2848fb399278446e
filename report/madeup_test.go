package report

import (
	"context"
	"flag"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
	"legroom/solid"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// golden compares with a stored file, or rewrites it with -update.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (write it with -update)", err)
	}
	if string(got) != string(want) {
		t.Errorf("%s differs (rewrite with -update when it should):\n%s", path, got)
	}
}

func length(x float64, s rig.Source) rig.Length {
	return rig.Length{Quantity: rig.Quantity{Value: x, Tol: 3, Unit: "mm", Source: s}}
}

func degrees(x float64) rig.Angle {
	return rig.Angle{Quantity: rig.Quantity{Value: x, Tol: 2, Unit: "deg", Source: rig.Measured}}
}

// madeUp is a model with one part of each shape, in every frame. It is not a whole rig: pictures and papers need no more.
func madeUp(t testing.TB) *axes.Model {
	t.Helper()
	r := &rig.Rig{Legroom: 1, Name: "Long refractor on a terrace"}
	r.Site = rig.Site{LatitudeDeg: 36.9, LongitudeDeg: -3.1, TimeZone: "Europe/Madrid"}
	r.Support.Kind = rig.Tripod
	r.Support.HeightMM = length(930, rig.Measured)
	r.Support.Legs = &rig.Legs{Count: 3, FirstAzimuthDeg: degrees(0), FootRadiusMM: length(520, rig.Measured)}
	r.Support.Extension = &rig.Column{HeightMM: length(200, rig.Unmeasured)}
	r.Mount.EntryStepDeg = 1
	r.Tube.SlideMM = length(15, rig.Measured)
	r.Tube.Train = &rig.Train{FromMM: length(-410, rig.Measured), Rotator: rig.Rotator{AngleDeg: degrees(30)},
		Items: []rig.Item{{Name: "focuser", LengthMM: length(120, rig.Measured)}, {Name: "filter wheel", LengthMM: length(38, rig.Measured)},
			{Name: "camera", LengthMM: length(95, rig.Measured)}}}
	r.Conditions = []rig.Condition{{Name: "roof shut"}}
	r.Quantities = []*rig.Quantity{{Unit: "deg", Source: rig.Default, Path: "mount.zero_errors.ra_deg", Tol: 0.5},
		{Value: 200, Tol: 30, Unit: "mm", Source: rig.Unmeasured, Path: "support.extension.height_mm"},
		{Value: 7.5, Unit: "kg", Source: rig.Unmeasured, Path: "tube.sections[0].mass_kg"}}

	crossing := r3.Vec{Z: 1300}
	m := &axes.Model{Rig: r, Assembly: &rig.Assembly{CrossingMM: [3]float64{0, 0, 1300}, LatitudeDeg: 36.9, AltitudeDeg: 36.9},
		Head:   axes.NewHead(axes.Rad(36.9), axes.Rad(36.9), 0, crossing),
		Travel: axes.Travel{RAFrom: -math.Pi, RATo: math.Pi, DecFrom: -math.Pi, DecTo: math.Pi}}
	for _, p := range []rig.Part{
		{Name: "leg 1", Frame: rig.Ground, Shape: rig.Capsule, SizeMM: []float64{40, 900}, Place: [12]float64{1, 0, 0, 0, 0, .9, .43588989, 280, 0, -.43588989, .9, 450}},
		{Name: "polar housing", Frame: rig.Polar, Shape: rig.Cylinder, SizeMM: []float64{130, 260}, Place: [12]float64{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, -120}, MassKg: 8},
		{Name: "counterweight", Frame: rig.Arm, Shape: rig.Cylinder, SizeMM: []float64{180, 60}, Place: [12]float64{0, 0, 1, -320, 0, 1, 0, 0, -1, 0, 0, 0}, MassKg: 5},
		{Name: "dew shield", Frame: rig.TubeFrame, Shape: rig.Cone, SizeMM: []float64{130, 150, 240}, Place: [12]float64{1, 0, 0, 280, 0, 1, 0, 0, 0, 0, 1, 520}, MassKg: 1.5},
		{Name: "filter wheel", Frame: rig.TubeFrame, Shape: rig.Box, SizeMM: []float64{130, 90, 38}, Place: [12]float64{1, 0, 0, 300, 0, 1, 0, 20, 0, 0, 1, -560}, MassKg: 1},
		{Name: "finder", Frame: rig.TubeFrame, Shape: rig.Sphere, SizeMM: []float64{60}, Place: [12]float64{1, 0, 0, 380, 0, 1, 0, 0, 0, 0, 1, 100}, MassKg: 0.5},
	} {
		s, err := solid.New(string(p.Shape), p.SizeMM)
		if err != nil {
			t.Fatal(err)
		}
		m.Assembly.Parts = append(m.Assembly.Parts, p)
		q := p
		m.Parts = append(m.Parts, axes.Part{Name: p.Name, Frame: p.Frame, Solid: s, Place: solid.FromPlace(p.Place), Rig: &q})
	}
	m.Assembly.Joined = [][2]int{{1, 2}}
	return m
}

// madeUpGap is a smooth gap with a contact past the meridian on each side, and an island.
func madeUpGap(ax axes.Angles) float64 {
	bump := func(ra, dec, w, h float64) float64 {
		x, y := axes.Deg(axes.Wrap(ax.RA-axes.Rad(ra)))/w, axes.Deg(axes.Wrap(ax.Dec-axes.Rad(dec)))/h
		return math.Exp(-x*x - y*y)
	}
	return 330 - 420*bump(135, 48, 34, 38) - 400*bump(-128, -60, 30, 35) - 340*bump(20, 75, 9, 7)
}

func madeUpSampler() Sampler {
	return func(ax axes.Angles) Sample {
		gap := madeUpGap(ax)
		s := Sample{GapMM: math.Min(gap, 60), AcrossMM: gap, State: room.Edge}
		switch {
		case gap > 31:
			s.State = room.Free
		case gap < 28:
			s.State = room.Blocked
		}
		return s
	}
}

func madeUpChart(t testing.TB, step float64) *Chart {
	t.Helper()
	m := madeUp(t)
	c := &Chart{Model: m, Basis: Basis{Fingerprint: "7f3a-90c1-5e", MarginMM: 30, Mode: rig.RSS, ToleranceMM: 8.4, Unmeasured: []string{"support.extension.height_mm"}}}
	for side, g := range map[axes.Side]**Grid{axes.West: &c.West, axes.East: &c.East} {
		var err error
		*g, err = NewGrid(context.Background(), &m.Head, m.Travel, side, madeUpSampler, GridOptions{StepDeg: step})
		if err != nil {
			t.Fatal(err)
		}
	}
	two := madeUpLimits(10).Two
	c.Two = &two
	return c
}

// madeUpLimits has a row of every kind; rowDeg is the height of its bands.
func madeUpLimits(rowDeg float64) *room.Limits {
	min := func(m float64) float64 { return m * math.Pi / 720 }
	l := &room.Limits{MarginMM: 30, ToleranceMM: 8.3217, Mode: rig.RSS, Fingerprint: "7f3a-90c1-5e", Unmeasured: []string{"support.extension.height_mm"}}
	l.Room = room.Share{West: 0.713, East: 0.694, Either: 0.981}
	for d := -50.0; d < 90; d += rowDeg {
		r := room.Row{DecFrom: axes.Rad(d), DecTo: axes.Rad(d + rowDeg)}
		r.West = []room.Interval{{From: min(-700), To: min(95.7)}}
		r.East = []room.Interval{{From: min(-20.4), To: min(700)}}
		r.Stop.HourAngle, r.Stop.Reason = min(95.7), room.ByRoom
		r.Resume.HourAngle, r.Resume.Reason = min(-20.4), room.ByRoom
		r.Flip = []room.Interval{{From: min(-20.4), To: min(92.2)}}
		switch k := int(math.Round((d + 50) / rowDeg)); {
		case k == 0:
			r.Stop.HourAngle, r.Stop.Reason, r.Resume.Reason = min(140), room.ByHorizon, room.NeverUsable
			r.East, r.Flip = nil, nil
		case k == 1:
			r.Stop.Reason, r.Resume.Reason = room.NeverUsable, room.NeverUsable
			r.West, r.East, r.Flip = nil, nil, nil
		case k == 4:
			r.West = append(r.West, room.Interval{From: min(130), To: min(700)})
			r.WestOther = []room.Interval{{From: min(130), To: min(340.5)}} // sets then
			r.EastOther = []room.Interval{{From: min(-340.5), To: min(-340.2)}, {From: min(-99.5), To: min(-40)}}
		case k == 6:
			r.Flip = []room.Interval{{From: min(-20.4), To: min(3.2)}, {From: min(31), To: min(92.2)}}
		case k == 8 || k == 9:
			r.Stop.HourAngle, r.Resume.HourAngle, r.Flip = min(-11.2), min(7.3), nil
			r.Idle = min(18.5)
			r.Cross, r.CrossProven = r.Resume.HourAngle+min(2), true
		case k == 10:
			r.Stop.HourAngle, r.Stop.Reason = math.Pi/2, room.ByTravel
		case k >= 13:
			r.Stop.Reason, r.Resume.Reason = room.NeverEnds, room.NeverEnds
		}
		l.Rows = append(l.Rows, r)
	}
	l.Two = room.TwoNumber{West: axes.Rad(97.62), East: axes.Rad(93.4), DecFrom: -math.Pi / 2, DecTo: math.Pi / 2, RoomCost: 0.0426,
		Unprotected: []room.Island{{RAFrom: axes.Rad(12), RATo: axes.Rad(28), DecFrom: axes.Rad(8), DecTo: axes.Rad(22), Side: axes.West, A: "leg 1", B: "filter wheel"}},
		StrictWest:  axes.Rad(11.8), StrictEast: axes.Rad(93.4), StrictRoomCost: 0.4521,
		Meridian: room.Meridian{West: axes.Rad(7.62), East: axes.Rad(-3.4), DecFrom: -math.Pi / 2, DecTo: math.Pi / 2, Found: true},
		Entered:  room.Meridian{West: axes.Rad(7), East: axes.Rad(-3), DecFrom: -math.Pi / 2, DecTo: math.Pi / 2, Found: true}}
	return l
}

var unconfirmed = rig.Setup{Night: "2026-03-14", Reason: "nobody has confirmed the set-up yet"}
