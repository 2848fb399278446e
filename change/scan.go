package change

import (
	"context"
	"sync/atomic"

	"legroom/room"
)

// Scan is a space of one or two variables looked at point by point, for a chart or a map.
type Scan struct {
	Variables []Variable
	Units     []string
	Present   []float64
	At        [][]float64 // the values of each variable
	Cells     []ScanCell  // the first variable fastest
}

// ScanCell is one point of a scan.
type ScanCell struct {
	X    []float64
	Miss float64 // of the aim, as Point.Miss: idle time alone, flips are not looked at; 0 for an aim of room
	Room float64 // on either side, percent
	Bad  string  // why there is no rig; "" when there is one
}

// NewScan looks at n values of one variable, or n by n of two. Progress, when given, is called now and then with the share done.
func NewScan(ctx context.Context, p Problem, n int, cell float64, progress func(done float64)) (*Scan, error) {
	s, err := newSpace(&p)
	if err != nil {
		return nil, err
	}
	out := &Scan{}
	total := 1
	for i := range s.vars {
		v := &s.vars[i]
		values := v.Only
		if len(values) == 0 {
			for k := range n {
				values = append(values, v.From+(v.To-v.From)*float64(k)/float64(n-1))
			}
		}
		out.Variables, out.Units, out.Present = append(out.Variables, v.Variable), append(out.Units, v.unit), append(out.Present, v.present)
		out.At = append(out.At, values)
		total *= len(values)
	}
	out.Cells = make([]ScanCell, total)
	var done atomic.Int64
	room.InParallel(total, func(i int) {
		if ctx.Err() != nil {
			return
		}
		c := &out.Cells[i]
		for k, rest := 0, i; k < len(out.At); k++ {
			c.X = append(c.X, out.At[k][rest%len(out.At[k])])
			rest /= len(out.At[k])
		}
		c.Miss, c.Room, c.Bad = s.both(ctx, c.X, cell)
		done.Add(1)
		if i%8 == 0 && progress != nil {
			progress(float64(done.Load()) / float64(total))
		}
	})
	return out, ctx.Err()
}

// both is what a point misses the aim by, and its room.
func (s *space) both(ctx context.Context, x []float64, cell float64) (miss, share float64, bad string) {
	g, err := s.gaugeAt(x)
	if err != nil {
		return 0, 0, err.Error()
	}
	m, err := room.NewMap(ctx, g, room.MapOptions{CellDeg: cell, Workers: 1})
	if err != nil {
		return 0, 0, err.Error()
	}
	share = 100 * m.Room().Either
	if s.p.Aim.Kind != MostRoom {
		miss = mean(s.p.Aim.misses(m, s.bands))
	}
	return miss, share, ""
}
