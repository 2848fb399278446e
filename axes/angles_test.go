package axes

import (
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/solid"
)

// seeded returns a generator whose seed is printed, and can be given again in LEGROOM_SEED.
func seeded(t testing.TB) *rand.Rand {
	seed := rand.Uint64()
	if s := os.Getenv("LEGROOM_SEED"); s != "" {
		seed, _ = strconv.ParseUint(s, 10, 64)
	}
	t.Logf("seed %d", seed)
	return rand.New(rand.NewPCG(seed, 1))
}

func aligned(latDeg float64) Head {
	lat := Rad(latDeg)
	return NewHead(lat, math.Abs(lat), 0, r3.Vec{Z: 1500})
}

func apart(a, b r3.Vec) float64 { return r3.Norm(r3.Sub(a, b)) }

// The check values that the frames are defined by: φ = 40°, H = 0, δ = 40°, side west gives θ = 90°, β = 50°, the saddle end of the
// declination axis due west and the tube straight up. That the counterweight bar is level at the meridian is common practice.
func TestZenithAtForty(t *testing.T) {
	h := aligned(40)
	g := h.Angles(Pose{Side: West, HourAngle: 0, Dec: Rad(40)})
	if math.Abs(Deg(g.RA)-90) > 1e-12 || math.Abs(Deg(g.Dec)-50) > 1e-12 {
		t.Fatalf("axis angles %v°, %v°; want 90°, 50°", Deg(g.RA), Deg(g.Dec))
	}
	if d := apart(h.A(g.RA), r3.Vec{X: -1}); d > 1e-15 {
		t.Errorf("a is %v, want west", h.A(g.RA))
	}
	if d := apart(h.Pointing(g), r3.Vec{Z: 1}); d > 1e-15 {
		t.Errorf("u is %v, want straight up", h.Pointing(g))
	}
}

// Pointing against an independent formula for every latitude, the equator and the poles among them.
func TestPointingIsTheSky(t *testing.T) {
	rnd := seeded(t)
	lats := []float64{0, 90, -90, 1e-9, -1e-9, 40, -32.4}
	for i := range 20000 {
		lat := rnd.Float64()*180 - 90
		if i < len(lats) {
			lat = lats[i]
		}
		h := aligned(lat)
		H, δ := (rnd.Float64()*2-1)*math.Pi, math.Asin(rnd.Float64()*2-1)
		want := Direction(h.Latitude, H, δ)
		for _, side := range []Side{West, East} {
			g := h.Angles(Pose{side, H, δ})
			if d := apart(h.Pointing(g), want); d > 1e-12 {
				t.Fatalf("φ %v H %v δ %v %v: off by %g", lat, Deg(H), Deg(δ), side, d)
			}
			p := h.Pose(g)
			if p.Side != side || math.Abs(p.HourAngle-H) > 1e-9 || math.Abs(p.Dec-δ) > 1e-9 {
				t.Fatalf("φ %v: pose %v became %v", lat, Pose{side, H, δ}, p)
			}
			// (θ + 180°, −β) is the other side of the same direction.
			o := Angles{g.RA + math.Pi, -g.Dec}
			if d := apart(h.Pointing(o), want); d > 1e-12 {
				t.Fatalf("the other side points elsewhere by %g", d)
			}
			if f := h.TubeFrame(g); math.Abs(det(f)-1) > 1e-12 {
				t.Fatalf("tube frame has det %v", det(f))
			}
			if f := h.ArmFrame(g.RA); math.Abs(det(f)-1) > 1e-12 {
				t.Fatalf("arm frame has det %v", det(f))
			}
		}
	}
}

// Tracking raises θ in both hemispheres, and what is tracked moves west.
func TestTrackingRaisesRA(t *testing.T) {
	for _, lat := range []float64{40, -40, 0} {
		h := aligned(lat)
		a := h.Angles(Pose{West, -0.1, 0})
		b := h.Angles(Pose{West, 0.1, 0})
		if b.RA <= a.RA || a.Dec != b.Dec {
			t.Errorf("φ %v: %v then %v", lat, a, b)
		}
		if h.Pointing(b).X >= h.Pointing(a).X {
			t.Errorf("φ %v: the target moves east", lat)
		}
	}
}

// At −φ the world is mirrored in y, and so are the tube's y and the arm's p × a.
func TestMirror(t *testing.T) {
	rnd := seeded(t)
	for range 2000 {
		lat := rnd.Float64() * 90
		n, s := aligned(lat), aligned(-lat)
		H, δ := (rnd.Float64()*2-1)*math.Pi, math.Asin(rnd.Float64()*2-1)
		gn, gs := n.Angles(Pose{West, H, δ}), s.Angles(Pose{West, H, -δ})
		if math.Abs(gn.RA-gs.RA) > 1e-12 || math.Abs(gn.Dec-gs.Dec) > 1e-12 {
			t.Fatalf("angles differ: %v, %v", gn, gs)
		}
		x := r3.Vec{X: rnd.NormFloat64(), Y: rnd.NormFloat64(), Z: rnd.NormFloat64()}
		mirror := func(v r3.Vec) r3.Vec { return r3.Vec{X: v.X, Y: -v.Y, Z: v.Z} }
		for i, f := range []func(h *Head, g Angles) solid.Pose{
			func(h *Head, g Angles) solid.Pose { return h.TubeFrame(g) },
			func(h *Head, g Angles) solid.Pose { return h.ArmFrame(g.RA) },
			func(h *Head, g Angles) solid.Pose { return h.PolarFrame() },
		} {
			pn, ps := f(&n, gn), f(&s, gs)
			if d := apart(mirror(pn.Apply(x)), ps.Apply(mirror(x))); d > 1e-10 {
				t.Fatalf("frame %d differs by %g", i, d)
			}
		}
	}
}

// A head off the pole points where it says, and one a hair off is as good as one that is aligned.
func TestHeadOffThePole(t *testing.T) {
	rnd := seeded(t)
	for range 5000 {
		lat := Rad(rnd.Float64()*160 - 80)
		h := NewHead(lat, math.Abs(lat)+Rad(rnd.NormFloat64()), Rad(rnd.NormFloat64()*2), r3.Vec{})
		p := Pose{West, (rnd.Float64()*2 - 1) * math.Pi, math.Asin(rnd.Float64()*2 - 1)}
		if rnd.IntN(2) == 0 {
			p.Side = East
		}
		g := h.Angles(p)
		if d := apart(h.Pointing(g), Direction(lat, p.HourAngle, p.Dec)); d > 1e-12 {
			t.Fatalf("off by %g", d)
		}
		q := h.Pose(g)
		if d := apart(Direction(lat, q.HourAngle, q.Dec), Direction(lat, p.HourAngle, p.Dec)); q.Side != p.Side || d > 1e-9 {
			t.Fatalf("pose %v became %v", p, q)
		}
	}
	lat := Rad(36.9)
	a, b := aligned(36.9), NewHead(lat, lat+1e-12, 1e-12, r3.Vec{Z: 1500})
	p := Pose{East, 0.3, 0.2}
	ga, gb := a.Angles(p), b.Angles(p)
	if math.Abs(ga.RA-gb.RA) > 1e-10 || math.Abs(ga.Dec-gb.Dec) > 1e-10 {
		t.Errorf("aligned %v, a hair off %v", ga, gb)
	}
}

// ERFA t_erfa_c.c: hd2ae(1.1, 1.2, 0.3) gives azimuth 5.916889243730066194, elevation 0.4472186304990486228.
func TestERFAExample(t *testing.T) {
	alt, az := AltAz(Direction(0.3, 1.1, 1.2))
	if math.Abs(az-5.916889243730066194) > 1e-13 || math.Abs(alt-0.4472186304990486228) > 1e-13 {
		t.Errorf("alt %.18f az %.18f", alt, az)
	}
}

// The tube's direction against ERFA's own hd2ae (C library, Debian liberfa-dev) for random φ, H, δ.
func TestPointingAgainstERFA(t *testing.T) {
	rnd := seeded(t)
	exe := filepath.Join(t.TempDir(), "hd2ae")
	if out, err := exec.Command("cc", "-O1", "-o", exe, "testdata/hd2ae.c", "-lerfa", "-lm").CombinedOutput(); err != nil {
		if os.Getenv("LEGROOM_REQUIRE_TOOLS") == "1" {
			t.Fatalf("ERFA is required: %v\n%s", err, out)
		}
		t.Skipf("SKIPPED, the pointing was NOT compared with ERFA: install a C compiler and liberfa-dev (%v)", err)
	}
	const n = 20000
	var in strings.Builder
	type q struct{ lat, H, δ float64 }
	qs := make([]q, n)
	for i := range qs {
		qs[i] = q{math.Asin(rnd.Float64()*2 - 1), (rnd.Float64()*2 - 1) * math.Pi, math.Asin(rnd.Float64()*2 - 1)}
		in.WriteString(strconv.FormatFloat(qs[i].H, 'g', 17, 64) + " " + strconv.FormatFloat(qs[i].δ, 'g', 17, 64) + " " +
			strconv.FormatFloat(qs[i].lat, 'g', 17, 64) + "\n")
	}
	cmd := exec.Command(exe)
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Fields(string(out))
	if len(lines) != 2*n {
		t.Fatalf("%d numbers from ERFA", len(lines))
	}
	worst := 0.0
	for i, c := range qs {
		az, _ := strconv.ParseFloat(lines[2*i], 64)
		el, _ := strconv.ParseFloat(lines[2*i+1], 64)
		sa, ca := math.Sincos(az)
		se, ce := math.Sincos(el)
		h := NewHead(c.lat, math.Abs(c.lat), 0, r3.Vec{})
		for _, side := range []Side{West, East} {
			worst = math.Max(worst, apart(h.Pointing(h.Angles(Pose{side, c.H, c.δ})), r3.Vec{X: ce * sa, Y: ce * ca, Z: se}))
		}
	}
	if worst > 1e-12 {
		t.Errorf("worst difference from ERFA %g", worst)
	}
	t.Logf("%d pointings, worst difference from ERFA %.2g", n, worst)
}

func det(p solid.Pose) float64 {
	r := p.R
	return r[0]*(r[4]*r[8]-r[5]*r[7]) - r[1]*(r[3]*r[8]-r[5]*r[6]) + r[2]*(r[3]*r[7]-r[4]*r[6])
}
