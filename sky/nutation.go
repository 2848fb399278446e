package sky

import (
	"math"
	"sync/atomic"

	"github.com/soniakeys/meeus/v3/nutation"
)

// Nutation is a series of 63 terms, and a night asks for it a hundred thousand times within hours. Its shortest terms of any size take
// days: 13.7 of 0.23″ and 9.1 of 0.03″ (Meeus, table 22.A), so that it bends by no more than 0.1″ a day². A straight line between two
// instants nutationStep apart is within 0.1″ × nutationStep² / 8, 0.0002″, of it.
const nutationStep = 1.0 / 8 // days

// nutationNode is the nutation at nutationStep times k, Julian days TT: in longitude and in obliquity, rad.
type nutationNode struct {
	k      int64
	Δψ, Δε float64
}

// nutationNodes keeps the nodes asked for last, a month of them, each in its place by k.
var nutationNodes [256]atomic.Pointer[nutationNode]

func nutationAt(k int64) *nutationNode {
	place := &nutationNodes[k&int64(len(nutationNodes)-1)]
	if n := place.Load(); n != nil && n.k == k {
		return n
	}
	Δψ, Δε := nutation.Nutation(float64(k) * nutationStep)
	n := &nutationNode{k, Δψ.Rad(), Δε.Rad()}
	place.Store(n)
	return n
}

// nutationOf returns the nutation in longitude and in obliquity at a Julian date TT, rad, within 0.0002″ of Meeus's chapter 22.
func nutationOf(jd float64) (Δψ, Δε float64) {
	x := jd / nutationStep
	k := math.Floor(x)
	a, b, part := nutationAt(int64(k)), nutationAt(int64(k)+1), x-k
	return a.Δψ + part*(b.Δψ-a.Δψ), a.Δε + part*(b.Δε-a.Δε)
}
