package room

import (
	"context"
	"flag"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strconv"
	"sync"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/solid"
)

// The tests' live heap is small and much goes through it: collecting it took up to two fifths of their time.
func init() { debug.SetGCPercent(400) }

// poses says how many random poses a proof is tried with on each rig.
var poses = flag.Int("poses", 20000, "random poses a proof is tried with on each rig; 1000000 for the long run")

// seeded returns a generator whose seed is printed, and can be given again in LEGROOM_SEED.
func seeded(t testing.TB) *rand.Rand {
	seed := rand.Uint64()
	if s := os.Getenv("LEGROOM_SEED"); s != "" {
		seed, _ = strconv.ParseUint(s, 10, 64)
	}
	t.Logf("seed %d", seed)
	return rand.New(rand.NewPCG(seed, 1))
}

// judge answers for one pose by brute force: every pair of parts, no culling by cells, no motion bounds, no map. It knows the
// pairs and their needs by itself, from the assembly.
type judge struct {
	m      *axes.Model
	radius []float64
	at     []solid.Placed
	pairs  []judged
}

type judged struct {
	a, b int
	need float64
}

func newJudge(m *axes.Model, margin float64, mode rig.ToleranceMode) *judge {
	j := &judge{m: m, at: make([]solid.Placed, len(m.Parts))}
	joined := map[[2]int]bool{}
	for _, p := range slices.Concat(m.Assembly.Joined, m.Assembly.Turning) {
		joined[p] = true
	}
	level := map[rig.Frame]int{rig.Ground: 0, rig.Polar: 0, rig.Arm: 1, rig.TubeFrame: 2}
	for a := range m.Parts {
		p := &m.Assembly.Parts[a]
		// Half the diagonal of a box around the shape.
		s := p.SizeMM
		switch p.Shape {
		case rig.Box:
			j.radius = append(j.radius, math.Sqrt(s[0]*s[0]+s[1]*s[1]+s[2]*s[2])/2)
		case rig.Cylinder:
			j.radius = append(j.radius, math.Hypot(s[0], s[1])/2)
		case rig.Cone:
			j.radius = append(j.radius, math.Hypot(math.Max(s[0], s[1]), s[2])/2)
		case rig.Capsule:
			j.radius = append(j.radius, (s[0]+s[1])/2)
		default:
			j.radius = append(j.radius, s[0]/2)
		}
		for b := range a {
			q := &m.Assembly.Parts[b]
			if level[p.Frame] == level[q.Frame] || joined[[2]int{b, a}] || joined[[2]int{a, b}] {
				continue
			}
			sum := 0.0
			for _, s := range m.Rig.Shares(m.Assembly, p, q) {
				switch mode {
				case rig.Worst:
					sum += s.MM
				case rig.RSS:
					sum += s.MM * s.MM
				}
			}
			if mode == rig.RSS {
				sum = math.Sqrt(sum)
			}
			j.pairs = append(j.pairs, judged{b, a, margin + sum})
		}
	}
	return j
}

// slack returns the least gap − need over all pairs, mm. Overlap counts as a gap of 0. The pair that had the least last comes first,
// so that most others are seen to be farther by the balls around them.
func (j *judge) slack(g axes.Angles) (float64, judged) {
	j.m.Place(g, j.at)
	best, who, first := math.Inf(1), judged{}, 0
	for i, p := range j.pairs {
		a, b := &j.at[p.a], &j.at[p.b]
		far := math.Max(best, 1) + j.radius[p.a] + j.radius[p.b] + p.need
		if d := r3.Sub(a.Centre(), b.Centre()); r3.Dot(d, d) > far*far && far > 0 {
			continue
		}
		if s := solid.Distance(a, b).Upper - p.need; s < best {
			best, who, first = s, p, i
		}
	}
	if len(j.pairs) > 0 {
		j.pairs[0], j.pairs[first] = j.pairs[first], j.pairs[0]
	}
	return best, who
}

// examples are the rigs of the examples folder.
func examples(t testing.TB) []string {
	files, err := filepath.Glob("../examples/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no example rigs: %v", err)
	}
	return files
}

func exampleGauge(t testing.TB, file string, mode rig.ToleranceMode) *Gauge {
	t.Helper()
	r, err := rig.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	m, err := axes.NewModel(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	g, err := NewGauge(m, Options{Mode: mode})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func mapOf(t testing.TB, g *Gauge, cell float64) *Map {
	t.Helper()
	m, err := NewMap(context.Background(), g, MapOptions{CellDeg: cell})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// sampler draws poses: half of them evenly over the torus, half inside a cell of the map drawn evenly among all, so that the many
// small cells along the border, where a proof may fail, are tried as often as the large ones.
type sampler struct {
	rnd    *rand.Rand
	leaves []Rect
}

func newSampler(rnd *rand.Rand, m *Map) *sampler {
	s := &sampler{rnd: rnd}
	m.Leaves(func(c Rect, _ State) { s.leaves = append(s.leaves, c) })
	return s
}

func (s *sampler) pose() axes.Angles {
	if s.rnd.IntN(2) == 0 {
		return axes.Angles{RA: (s.rnd.Float64()*2 - 1) * math.Pi, Dec: (s.rnd.Float64()*2 - 1) * math.Pi}
	}
	c := s.leaves[s.rnd.IntN(len(s.leaves))]
	at := func(a, b float64) float64 {
		// Ends more often than not: that is where the motion is greatest.
		switch s.rnd.IntN(3) {
		case 0:
			return a + (b-a)*1e-9
		case 1:
			return b - (b-a)*1e-9
		}
		return a + (b-a)*s.rnd.Float64()
	}
	return axes.Angles{RA: at(c.RAFrom, c.RATo), Dec: at(c.DecFrom, c.DecTo)}
}

// contradictions tries n poses that the map calls free, and n/10 or more that it calls blocked, and counts those that the judge
// sees otherwise. Converged gaps are within 1e-3 mm, so that much is not held against the map.
func contradictions(m *Map, j *judge, s *sampler, n int, report func(axes.Angles, State, float64, judged)) (falseFree, falseBlocked, free, blocked int) {
	for tries := 0; (free < n || blocked < n/10) && tries < 20*n; tries++ {
		g := s.pose()
		st := m.State(g)
		if st == Edge || st == Free && free >= n || st == Blocked && blocked >= n {
			continue
		}
		slack, who := j.slack(g)
		switch st {
		case Free:
			free++
			if slack < -1e-3 {
				falseFree++
				report(g, st, slack, who)
			}
		case Blocked:
			blocked++
			if slack >= 1e-3 {
				falseBlocked++
				report(g, st, slack, who)
			}
		}
	}
	return falseFree, falseBlocked, free, blocked
}

// parallel runs f on two processors with generators of their own.
func parallel(rnd *rand.Rand, f func(k int, rnd *rand.Rand)) {
	var wg sync.WaitGroup
	for k := range 2 {
		r := rand.New(rand.NewPCG(rnd.Uint64(), uint64(k)))
		wg.Go(func() { f(k, r) })
	}
	wg.Wait()
}
