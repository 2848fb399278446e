package tolerance

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"legroom/axes"
	"legroom/room"
)

// Row is one declination: where the run on side west stops and that on side east may start, and how sure that is.
type Row struct {
	Dec          float64
	Stop, Resume End
	// Idle is the hour angle between stop and resume without a flip window, by rss; 0 otherwise.
	Idle float64
}

// End is where a run ends or starts.
type End struct {
	Side axes.Side
	// None takes no tolerances off, RSS and Worst what is proven for each; the first is where the run ends if every length is as the
	// document has it.
	None, RSS, Worst room.RunEnd
	// Sure tells that None is by room and that the rest holds.
	Sure bool
	Gap  Gap // the pair that sets None, there
	// Likely is the hour angles that hold the end 95 of 100 times, by the derivatives of the pairs that are near there.
	Likely [2]float64
	// Closing is how fast the gap closes on the way to a stop, or opens after a resume, mm a radian of hour angle; ≥ 0. Grazes tells that
	// it is so slow that Likely means nothing.
	Closing float64
	Grazes  bool
}

// grazing, mm a minute of time, is closing so slowly that the error of an end has no bound worth naming.
const grazing = 0.05

// Ends looks at declinations, radians, each to the fineness of a track. Those that never rise have no row.
func (s *Study) Ends(ctx context.Context, decs []float64, progress func(done float64)) ([]Row, error) {
	var maps [3]*room.Map
	for i, g := range []*room.Gauge{s.none, s.rss, s.worst} {
		var err error
		if maps[i], err = room.NewMap(ctx, g, room.MapOptions{}); err != nil {
			return nil, err
		}
	}
	var out []Row
	scratch := s.rss.NewScratch()
	for k, dec := range decs {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if !(math.Abs(dec) <= math.Pi/2) {
			return nil, fmt.Errorf("declination %v°: give −90 to 90", axes.Deg(dec))
		}
		row, up := Row{Dec: dec, Stop: End{Side: axes.West}, Resume: End{Side: axes.East}}, true
		for i, m := range maps {
			r, ever := m.Target(dec, 0)
			if up = ever; !up {
				break
			}
			switch i {
			case 0:
				row.Stop.None, row.Resume.None = r.Stop, r.Resume
			case 1:
				row.Stop.RSS, row.Resume.RSS, row.Idle = r.Stop, r.Resume, r.Idle
			case 2:
				row.Stop.Worst, row.Resume.Worst = r.Stop, r.Resume
			}
		}
		if up {
			s.likely(&row.Stop, dec, scratch)
			s.likely(&row.Resume, dec, scratch)
			out = append(out, row)
		}
		if progress != nil {
			progress(float64(k+1) / float64(len(decs)))
		}
	}
	return out, nil
}

// likely fills in how sure an end is by the derivatives of the pairs near it. Each of them would end the run where its own gap is down
// to the margin, and that hour angle moves with the lengths by the gap's gradient over how fast it closes; the run ends at the first. Of
// the first of several there is no formula, so that it is drawn.
func (s *Study) likely(e *End, dec float64, scratch *room.Scratch) {
	if e.None.Reason != room.ByRoom {
		return
	}
	h := &s.none.Model.Head
	sense := 1.0 // of the hour angle towards the end
	if e.Side == axes.East {
		sense = -1
	}
	at := func(by float64) axes.Angles {
		return h.Angles(axes.Pose{Side: e.Side, HourAngle: e.None.HourAngle + sense*by, Dec: dec})
	}
	here := at(0)
	pair := s.none.Gap(here, scratch).LowerPair
	e.Gap = s.gap(here, pair[0], pair[1], scratch)
	e.Closing = math.Max(0, s.closing(at, pair[0], pair[1], scratch))
	e.Sure, e.Grazes = true, e.Closing*math.Pi/720 < grazing
	if e.Grazes {
		return
	}
	var rivals []rival
	for _, p := range s.none.Nearest(here, rivalPairs) {
		g := s.gap(here, p.A, p.B, scratch)
		v := s.closing(at, p.A, p.B, scratch)
		over := g.PairGap.Gap - s.none.MarginMM
		if v*math.Pi/720 < grazing || over > 4*g.RSS {
			continue
		}
		r := rival{after: over / v}
		for _, share := range g.Shares {
			if share.MM > 0 {
				r.by = append(r.by, lever{share.Quantity.ID, share.Rate * share.Quantity.Tol / two95 / v})
			}
		}
		rivals = append(rivals, r)
	}
	early, late := draw(rivals, len(s.none.Model.Rig.Quantities))
	e.Likely = [2]float64{e.None.HourAngle + early, e.None.HourAngle + late}
	if sense < 0 {
		e.Likely = [2]float64{e.None.HourAngle - late, e.None.HourAngle - early}
	}
}

// two95 is how many standard deviations to each side of the middle of a normal distribution hold 95 of 100.
const two95 = 1.959963984540054

// rivalPairs is how many of the nearest pairs at an end are looked at as what may end the run.
const rivalPairs = 8

// closing is how fast a gap closes along a track, mm a radian; at gives the pose so far along.
func (s *Study) closing(at func(by float64) axes.Angles, a, b int, scratch *room.Scratch) float64 {
	const step = 0.002 * math.Pi / 180
	after, _ := s.rates.Between(at(step), a, b, scratch)
	before, _ := s.rates.Between(at(-step), a, b, scratch)
	return (before.Gap - after.Gap) / (2 * step)
}

// rival is a pair that may end a run: how far along the track it does so, radians, and what a standard deviation of each length adds.
type rival struct {
	after float64
	by    []lever
}

type lever struct {
	quantity int
	radians  float64
}

// draw finds between which two hour angles the first of the rivals ends the run 95 of 100 times.
func draw(rivals []rival, quantities int) (early, late float64) {
	const draws = 4000 // the two ends are then good to 3% of the distance between them
	rng := rand.New(rand.NewPCG(1, 95))
	z := make([]float64, quantities)
	ends := make([]float64, draws)
	for k := range ends {
		for i := range z {
			z[i] = rng.NormFloat64()
		}
		ends[k] = math.Inf(1)
		for i := range rivals {
			x := rivals[i].after
			for _, l := range rivals[i].by {
				x += l.radians * z[l.quantity]
			}
			ends[k] = math.Min(ends[k], x)
		}
	}
	slices.Sort(ends)
	return ends[draws/40], ends[draws-1-draws/40]
}
