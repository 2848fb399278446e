package proof

import (
	"math"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// two95 is how many standard deviations to each side of the middle of a normal distribution hold 95 of 100.
const two95 = 1.959963984540054

// lengths are the uncertain lengths and angles of a rig, in units of their own standard deviation from the document's value: all that
// is known of them before the ruler comes is that they are independent with mean 0 and variance 1.
type lengths struct {
	list []*rig.Quantity
	sd   []float64
	at   []int // by the index in Rig.Quantities; −1 for what is certain
}

func lengthsOf(r *rig.Rig) *lengths {
	l := &lengths{at: make([]int, len(r.Quantities))}
	for i, q := range r.Quantities {
		l.at[i] = -1
		if q.Tol > 0 && q.Unit != "kg" {
			l.at[i] = len(l.list)
			l.list = append(l.list, q)
			l.sd = append(l.sd, q.Tol/two95)
		}
	}
	return l
}

// scaled writes a gradient into row, in mm for one standard deviation of each length.
func (l *lengths) scaled(grad []room.Derivative, row []float64) {
	clear(row)
	for _, d := range grad {
		if i := l.at[d.Quantity]; i >= 0 {
			row[i] = d.MMPerUnit * l.sd[i]
		}
	}
}

// moved gives the rig with the lengths at x.
func (l *lengths) moved(r *rig.Rig, x []float64) *rig.Rig {
	out := r.Clone()
	for i, q := range l.list {
		out.Quantities[q.ID].Value = q.Value + x[i]*l.sd[i]
	}
	return out
}

// measured prepares a rig as a ruler finds it: the focuser and the rotator where the document measured them, not everywhere that
// they may be; without lists further conditions that do not hold.
func measured(r *rig.Rig, without []string) (*room.Gauge, error) {
	c := rig.Conditions{rig.FocuserTravel: rig.HoldsNot, rig.RotatorSweep: rig.HoldsNot}
	for _, n := range without {
		c[n] = rig.HoldsNot
	}
	m, err := axes.NewModel(r, c)
	if err != nil {
		return nil, err
	}
	return room.NewGauge(m, room.Options{Mode: rig.RSS})
}

func norm(row []float64) float64 {
	sum := 0.0
	for _, x := range row {
		sum += x * x
	}
	return math.Sqrt(sum)
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, x := range a {
		sum += x * b[i]
	}
	return sum
}
