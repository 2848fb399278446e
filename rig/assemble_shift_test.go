package rig

import (
	"math"
	"math/rand/v2"
	"runtime/debug"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// The tests' live heap is small and much goes through it: collecting it took up to two fifths of their time.
func init() { debug.SetGCPercent(400) }

// supportValue is max ⟨n, x⟩ over a part's points placed by at. Closed forms of the five shapes.
func supportValue(p *Part, at *placing, n r3.Vec) float64 {
	// n in the part's axes.
	x := n.X*at[0] + n.Y*at[4] + n.Z*at[8]
	y := n.X*at[1] + n.Y*at[5] + n.Z*at[9]
	z := n.X*at[2] + n.Y*at[6] + n.Z*at[10]
	c := n.X*at[3] + n.Y*at[7] + n.Z*at[11]
	s := p.SizeMM
	switch p.Shape {
	case Box:
		return c + (math.Abs(x)*s[0]+math.Abs(y)*s[1]+math.Abs(z)*s[2])/2
	case Cylinder:
		return c + (math.Hypot(x, y)*s[0]+math.Abs(z)*s[1])/2
	case Cone:
		q := math.Hypot(x, y)
		return c + math.Max(q*s[0]-z*s[2], q*s[1]+z*s[2])/2
	case Capsule:
		return c + (s[0]+math.Abs(z)*s[1])/2
	default:
		return c + s[0]/2
	}
}

// seenFrom returns the move from the frame of p's Place to the one that Shift speaks of: for ground parts the head's at the
// crossing; for arm and tube parts the five turns put in, at polar axis direction pole (a unit vector of the tube's
// y–z plane).
func seenFrom(r *Rig, a *Assembly, f Frame, pole r3.Vec) placing {
	z := r.Mount.Zero
	switch f {
	case Ground:
		s := 1.0
		if a.LatitudeDeg < 0 {
			s = -1
		}
		sa, ca := math.Sincos(a.AltitudeDeg * rad)
		turn := turnAbout(r3.Vec{}, zAxis, -a.AzimuthErrorDeg*rad)
		p := turn.direction(r3.Vec{Y: s * ca, Z: sa})
		x := turn.direction(r3.Vec{Y: -s * sa, Z: ca})
		y := r3.Cross(p, x)
		inverse := placing{x.X, x.Y, x.Z, 0, y.X, y.Y, y.Z, 0, p.X, p.Y, p.Z, 0}
		return inverse.mul(shiftBy(r3.Vec{X: -a.CrossingMM[0], Y: -a.CrossingMM[1], Z: -a.CrossingMM[2]}))
	case Arm:
		return turnAbout(r3.Vec{}, zAxis, z.RADeg.Value*rad)
	case TubeFrame:
		m := turnAbout(r3.Vec{}, yAxis, z.ConeDeg.Value*rad)
		m = turnAbout(r3.Vec{}, xAxis, z.DecDeg.Value*rad).mul(m)
		return turnAbout(r3.Vec{}, pole, z.RADeg.Value*rad).mul(m)
	}
	return identity
}

func sphereDirection(rng *rand.Rand) r3.Vec {
	for {
		v := r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		if n := r3.Norm(v); n > 0.1 {
			return r3.Scale(1/n, v)
		}
	}
}

func inPlane(rng *rand.Rand) r3.Vec {
	s, c := math.Sincos(2 * math.Pi * rng.Float64())
	return r3.Vec{Y: s, Z: c}
}

// set puts the quantities at nominal + t·tolerance, t in [−1, 1] each.
func set(r *Rig, nominal, t []float64) {
	for i, q := range r.Quantities {
		q.Value = nominal[i] + t[i]*q.Tol
	}
}

func mustAssemble(t *testing.T, r *Rig, c Conditions) *Assembly {
	t.Helper()
	a, err := r.Assemble(c)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func nominals(r *Rig) []float64 {
	x := make([]float64, len(r.Quantities))
	for i, q := range r.Quantities {
		x[i] = q.Value
	}
	return x
}

// movedBy is the greatest change of a part's support value between two assemblies over some directions.
func movedBy(a, b *Part, sa, sb placing, dirs []r3.Vec) float64 {
	most := 0.0
	sa, sb = sa.mul(a.Place), sb.mul(b.Place)
	for _, n := range dirs {
		most = math.Max(most, math.Abs(supportValue(a, &sa, n)-supportValue(b, &sb, n)))
	}
	return most
}

// The promise of Shift, drawn: two sets of lengths anywhere within tolerance, all changed at once, at corners of the box,
// or a few changed alone.
func TestShiftsBoundEveryMove(t *testing.T) {
	const rigs, draws, directions = 24, 420, 200
	for k := range rigs {
		seed := uint64(100 + k)
		rng := rand.New(rand.NewPCG(seed, 1))
		r := madeUp(rng, k, 1)
		c := Conditions{}
		if k%7 == 6 {
			c = Conditions{FocuserTravel: HoldsNot, RotatorSweep: HoldsNot, "panel in front": HoldsNot}
		}
		ref, nominal := mustAssemble(t, r, c), nominals(r)
		bound := make([]float64, len(r.Quantities))
		x, y := make([]float64, len(nominal)), make([]float64, len(nominal))
		for d := range draws {
			for i := range x {
				x[i], y[i] = 2*rng.Float64()-1, 2*rng.Float64()-1
				switch d % 4 {
				case 0: // corners
					x[i], y[i] = math.Copysign(1, x[i]), math.Copysign(1, y[i])
				case 1: // few move
					if rng.IntN(20) != 0 {
						y[i] = x[i]
					}
				case 2: // small moves
					y[i] = math.Min(1, x[i]+0.01*rng.Float64())
				}
				bound[i] = math.Abs(x[i]-y[i]) * r.Quantities[i].Tol
			}
			set(r, nominal, x)
			a, pole := mustAssemble(t, r, c), inPlane(rng)
			seenA := map[Frame]placing{}
			for _, f := range []Frame{Ground, Polar, Arm, TubeFrame} {
				seenA[f] = seenFrom(r, a, f, pole)
			}
			set(r, nominal, y)
			b := mustAssemble(t, r, c)
			dirs := make([]r3.Vec, directions)
			for i := range dirs {
				dirs[i] = sphereDirection(rng)
			}
			for i := range a.Parts {
				p := &a.Parts[i]
				allowed := 1e-9
				for _, s := range ref.Parts[i].Shifts {
					allowed += s.MMPerUnit * bound[s.Quantity]
				}
				if got := movedBy(p, &b.Parts[i], seenA[p.Frame], seenFrom(r, b, p.Frame, pole), dirs); got > allowed {
					t.Fatalf("seed %d, rig %d, draw %d: %s moves by %.6f mm, its shifts allow %.6f", seed, k, d, p.Name, got, allowed)
				}
			}
		}
		set(r, nominal, make([]float64, len(nominal)))
	}
}

// observed is the largest speed, mm per unit, at which q alone was seen to move each of some parts, with the others anywhere
// within tolerance.
func observed(t *testing.T, r *Rig, q *Quantity, parts []int, rng *rand.Rand, nominal []float64) map[int]float64 {
	t.Helper()
	most := map[int]float64{}
	x := make([]float64, len(nominal))
	for try := range 12 {
		for i := range x {
			x[i] = 2*rng.Float64() - 1
			if try < 4 {
				x[i] = 0
			}
		}
		from, to := -1.0, 1.0
		if try%2 == 1 {
			from, to = 0, 0.01
		}
		pole := [3]r3.Vec{zAxis, yAxis, inPlane(rng)}[try%3]
		x[q.ID] = from
		set(r, nominal, x)
		a := mustAssemble(t, r, nil)
		seen := map[Frame]placing{}
		for _, i := range parts {
			f := a.Parts[i].Frame
			seen[f] = seenFrom(r, a, f, pole)
		}
		x[q.ID] = to
		set(r, nominal, x)
		b := mustAssemble(t, r, nil)
		dirs := []r3.Vec{xAxis, yAxis, zAxis}
		for range 250 {
			dirs = append(dirs, sphereDirection(rng))
		}
		for _, i := range parts {
			f := a.Parts[i].Frame
			moved := movedBy(&a.Parts[i], &b.Parts[i], seen[f], seenFrom(r, b, f, pole), dirs)
			most[i] = math.Max(most[i], moved/((to-from)*q.Tol))
		}
	}
	set(r, nominal, make([]float64, len(nominal)))
	return most
}

// Every rate of every part is more than half of it when its quantity changes alone: no bound costs room for nothing, and
// any of them halved by mistake would be caught.
func TestShiftsAreTight(t *testing.T) {
	rates, worst := 0, 0.0
	for k := range 12 {
		seed := uint64(200 + k)
		rng := rand.New(rand.NewPCG(seed, 1))
		r := madeUp(rng, k, 0.2)
		ref, nominal := mustAssemble(t, r, nil), nominals(r)
		_, _, swept := r.Tube.Train.Rotator.sweep() // then the angle as measured is nowhere
		for id, q := range r.Quantities {
			rate := map[int]float64{}
			var parts []int
			for i := range ref.Parts {
				for _, s := range ref.Parts[i].Shifts {
					if s.Quantity == id {
						rate[i] = s.MMPerUnit
						parts = append(parts, i)
					}
				}
			}
			if len(parts) == 0 {
				if q.Tol > 0 && !(swept && q == &r.Tube.Train.Rotator.AngleDeg.Quantity) {
					t.Errorf("seed %d: %s has a tolerance and moves nothing", seed, q.Path)
				}
				continue
			}
			for i, seen := range observed(t, r, q, parts, rng, nominal) {
				rates++
				worst = math.Max(worst, rate[i]/seen)
				if seen <= rate[i]/2 {
					t.Errorf("seed %d: %s by %s: at most %g mm per unit seen, bound %g", seed, ref.Parts[i].Name, q.Path, seen, rate[i])
				}
			}
		}
	}
	t.Logf("%d rates, the loosest %.2f of what was seen", rates, worst)
}
