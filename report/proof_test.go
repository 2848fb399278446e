package report

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/change/proof"
	"legroom/rig"
	"legroom/room"
	"legroom/solid"
)

func walkOf(t *testing.T, name string, steps int) (ProofDoc, *proof.Walk) {
	t.Helper()
	r, err := rig.Load("../examples/" + name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	m, err := axes.NewModel(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	g, err := proof.Safe(m, rig.RSS)
	if err != nil {
		t.Fatal(err)
	}
	free, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	w, err := proof.NewWalk(context.Background(), free, proof.Options{Time: time.Date(2026, 11, 26, 9, 0, 0, 0, time.UTC), Steps: steps})
	if err != nil {
		t.Fatal(err)
	}
	return Proof(BasisOf(g, g.MaxAllowance()), w), w
}

func narrow(t *testing.T, text string) {
	t.Helper()
	for _, line := range strings.Split(text, "\n") {
		if utf8.RuneCountInString(line) > Columns {
			t.Errorf("too wide: %s", line)
		}
	}
}

// The picture shows what it is for: the line between the points is in it, in front of what is drawn there, and its parts stand out.
func TestProofPictures(t *testing.T) {
	for _, name := range []string{"terrace-long-refractor", "balcony-strain-wave"} {
		_, w := walkOf(t, name, 4)
		m := w.Gauge.Model
		for i, s := range w.Steps {
			placed := make([]solid.Placed, len(m.Parts))
			m.Place(s.Axes, placed)
			v := bestLook(m, placed, s.PointA, s.PointB)
			if math.Abs(r3.Dot(v.right, v.up))+math.Abs(r3.Dot(v.up, v.eye))+math.Abs(r3.Dot(v.eye, v.right)) > 1e-12 || v.up.Z < 0 {
				t.Fatalf("%s, step %d: the view is askew: %+v", name, i+1, v)
			}
			along := r3.Sub(s.PointB, s.PointA)
			seen := 0
			for k := range 9 {
				if !hidden(m, placed, r3.Add(s.PointA, r3.Scale(float64(k+1)/10, along)), v.eye) {
					seen++
				}
			}
			if flat := math.Hypot(r3.Dot(along, v.right), r3.Dot(along, v.up)); seen < 6 || flat < 0.5*r3.Norm(along) {
				t.Errorf("%s, step %d: %d of 9 points of the line are seen, %.0f of %.0f mm of it", name, i+1, seen, flat, r3.Norm(along))
			}
			v = v.framed([]r3.Vec{s.PointA, s.PointB}, 120, 1.5)
			const n = 90
			img, err := v.draw(m, s.Axes, n, nil)
			if err != nil {
				t.Fatal(err)
			}
			on := box{w: float64(img.Bounds().Dx()), h: float64(img.Bounds().Dy())}
			for _, x := range []r3.Vec{s.PointA, s.PointB} {
				p := v.onto(x, on)
				if p.x < 0 || p.y < 0 || p.x > on.w || p.y > on.h {
					t.Errorf("%s, step %d: a point is outside of its picture", name, i+1)
				}
			}
			drawn := 0
			for k := 0; k < len(img.Pix); k += 4 {
				if img.Pix[k] != 255 || img.Pix[k+1] != 255 || img.Pix[k+2] != 255 {
					drawn++
				}
			}
			if share := 4 * float64(drawn) / float64(len(img.Pix)); share < 0.05 || share > 1 {
				t.Errorf("%s, step %d: %.0f%% of the picture is drawn", name, i+1, 100*share)
			}
		}
	}
}

// A box in front of a wall, by hand: where it is on the picture, which of the two hides the other, and that what is strong is not pale.
func TestDrawByHand(t *testing.T) {
	m := madeUpModel(t, rig.Part{Name: "wall", Frame: rig.Ground, Shape: rig.Box, SizeMM: []float64{1000, 20, 1000}, Place: [12]float64{1, 0, 0, 0, 0, 1, 0, 300, 0, 0, 1, 0}},
		rig.Part{Name: "box", Frame: rig.Ground, Shape: rig.Box, SizeMM: []float64{200, 200, 200}, Place: [12]float64{1, 0, 0, 200, 0, 1, 0, 0, 0, 0, 1, 100}})
	v := lookFrom(180, 0) // from the south: east is right, up is up
	v.wide, v.high = 1000, 1000
	if v.from != "south" || r3.Norm(r3.Sub(v.right, r3.Vec{X: 1})) > 1e-12 || r3.Norm(r3.Sub(v.up, r3.Vec{Z: 1})) > 1e-12 {
		t.Fatalf("%+v", v)
	}
	pale, err := v.draw(m, axes.Angles{}, 100, nil)
	if err != nil {
		t.Fatal(err)
	}
	strong, err := v.draw(m, axes.Angles{}, 100, []int{1})
	if err != nil {
		t.Fatal(err)
	}
	at := func(x, z float64) point { return v.onto(r3.Vec{X: x, Z: z}, box{w: 100, h: 100}) }
	if p := at(200, 100); math.Abs(p.x-70) > 1e-9 || math.Abs(p.y-40) > 1e-9 {
		t.Errorf("the box is at %v", p)
	}
	b, w := at(200, 100), at(-300, -300)
	if pale.NRGBAAt(int(b.x), int(b.y)).R <= strong.NRGBAAt(int(b.x), int(b.y)).R {
		t.Error("the strong part is no darker than the pale one")
	}
	if pale.NRGBAAt(int(w.x), int(w.y)) != strong.NRGBAAt(int(w.x), int(w.y)) {
		t.Error("the wall changed with the box")
	}
	edge := at(100, 100) // an outline where the box ends in front of the wall
	if c := strong.NRGBAAt(int(edge.x), int(edge.y)); c.R > 160 {
		t.Errorf("no outline at the box's edge: %v", c)
	}
}

func madeUpModel(t *testing.T, parts ...rig.Part) *axes.Model {
	t.Helper()
	r := &rig.Rig{Name: "made up"}
	for range 5 {
		r.Quantities = append(r.Quantities, &rig.Quantity{})
	}
	m, err := axes.FromAssembly(r, &rig.Assembly{Parts: parts, CrossingMM: [3]float64{0, 0, 1500}, LatitudeDeg: 40, AltitudeDeg: 40, DecZero: 1, Cone: 2, PolarAltitude: 3, PolarAzimuth: 4})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestProofText(t *testing.T) {
	for _, name := range []string{"karoo-newtonian", "balcony-strain-wave"} {
		d, w := walkOf(t, name, 12)
		var b bytes.Buffer
		if err := WriteProof(&b, d); err != nil {
			t.Fatal(err)
		}
		narrow(t, b.String())
		for _, c := range d.Cautions {
			if !strings.Contains(strings.Join(strings.Fields(b.String()), " "), c[:40]) {
				t.Errorf("the caution %q is not in the text", c)
			}
		}
		f, err := proof.NewFitter(w.Gauge.Model.Rig, nil)
		if err != nil {
			t.Fatal(err)
		}
		all := len(w.Steps)
		for _, c := range []struct {
			taken int // steps that have a reading
			off   map[int]float64
			want  proof.Verdict
			says  string
		}{
			{all, nil, proof.Agrees, "THE RULER AGREES:"},
			{1, nil, proof.Agrees, fmt.Sprintf("THE RULER AGREES SO FAR, 1 of %d steps:", all)},
			{all, map[int]float64{3: 60}, proof.OneWrong, "step 4 ("},
			{all, map[int]float64{1: 60, 4: 70, 7: 60, 9: 60}, proof.Contradicted, "CONTRADICTS"},
			{1, map[int]float64{0: 300}, proof.Contradicted, "READING AND MODEL DO NOT GO TOGETHER"},
		} {
			var rd []proof.Reading
			for i, s := range w.Steps[:c.taken] {
				rd = append(rd, proof.Reading{Step: i + 1, Axes: s.Axes, A: s.A, B: s.B, MM: s.GapMM + c.off[i] + float64(i%3-1), TolMM: 2})
			}
			fit, err := f.Fit(rd)
			if err != nil {
				t.Fatal(err)
			}
			if fit.Verdict != c.want {
				t.Errorf("%s: %s, want %s", name, fit.Verdict, c.want)
			}
			b.Reset()
			if err := WriteFit(&b, Fit(d.Basis, d.Rig, all, fit, Correction{Name: "rig.yaml"})); err != nil {
				t.Fatal(err)
			}
			narrow(t, b.String())
			if !strings.Contains(b.String(), c.says) {
				t.Errorf("%s: no %q in\n%s", name, c.says, b.String())
			}
			if refused := c.want == proof.Contradicted; refused != !strings.Contains(b.String(), "LENGTHS:") {
				t.Errorf("%s: lengths of a model that is %s:\n%s", name, c.want, b.String())
			}
		}
	}
}
