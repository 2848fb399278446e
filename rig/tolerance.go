package rig

import "math"

// ToleranceMode says how the tolerances of a pair's lengths add up to the allowance that comes off its gap.
type ToleranceMode string

const (
	RSS   ToleranceMode = "rss"   // root of the sum of squares: each tolerance holds 95 of 100, errors independent
	Worst ToleranceMode = "worst" // plain sum: every length at its worst at once
	None  ToleranceMode = "none"  // nothing taken off, to compare with brute force
)

// Share is what one quantity adds to a pair's allowance.
type Share struct {
	Quantity int     // index in Rig.Quantities
	MM       float64 // Lipschitz constant × tolerance
}

// Shares lists what each quantity adds to the allowance of the pair of parts a and b: by the triangle inequality the gap
// of a pair moves by no more than the sum of what its two parts move by. The zero error of the RA axis turns arm and tube
// together, so that it adds nothing between them.
func (r *Rig) Shares(asm *Assembly, a, b *Part) []Share {
	together := (a.Frame == Arm && b.Frame == TubeFrame) || (a.Frame == TubeFrame && b.Frame == Arm)
	var out []Share
	i, j := 0, 0
	for i < len(a.Shifts) || j < len(b.Shifts) {
		var s Share
		switch {
		case j == len(b.Shifts) || (i < len(a.Shifts) && a.Shifts[i].Quantity < b.Shifts[j].Quantity):
			s = Share{a.Shifts[i].Quantity, a.Shifts[i].MMPerUnit}
			i++
		case i == len(a.Shifts) || b.Shifts[j].Quantity < a.Shifts[i].Quantity:
			s = Share{b.Shifts[j].Quantity, b.Shifts[j].MMPerUnit}
			j++
		default:
			s = Share{a.Shifts[i].Quantity, a.Shifts[i].MMPerUnit + b.Shifts[j].MMPerUnit}
			i++
			j++
		}
		if together && s.Quantity == asm.RAZero {
			continue
		}
		s.MM *= r.Quantities[s.Quantity].Tol
		if s.MM > 0 {
			out = append(out, s)
		}
	}
	return out
}

// Allowance adds shares up to the allowance in mm that comes off the pair's gap, rounded outwards.
func Allowance(shares []Share, mode ToleranceMode) float64 {
	sum := 0.0
	switch mode {
	case None:
		return 0
	case Worst:
		for _, s := range shares {
			sum += s.MM
		}
	default:
		for _, s := range shares {
			sum += s.MM * s.MM
		}
		sum = math.Sqrt(sum)
	}
	return sum * (1 + 1e-12)
}
