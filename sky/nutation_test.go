package sky

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/soniakeys/meeus/v3/nutation"
)

// What lies between the nodes is the series itself to 0.0002″, at any date, in any order of asking, and from several goroutines at once.
func TestNutationBetweenNodes(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	const arcsec = math.Pi / 180 / 3600
	var all sync.WaitGroup
	for i := range 4 {
		all.Go(func() {
			luck := rand.New(rand.NewPCG(seed, uint64(i)))
			for range 5000 {
				jd := 2440000 + luck.Float64()*40000 // 1968 to 2077
				Δψ, Δε := nutationOf(jd)
				ψ, ε := nutation.Nutation(jd)
				if off := math.Max(math.Abs(Δψ-ψ.Rad()), math.Abs(Δε-ε.Rad())) / arcsec; !(off < 2e-4) {
					t.Errorf("JD %.6f: %.2g″ off", jd, off)
					return
				}
			}
		})
	}
	all.Wait()
}
