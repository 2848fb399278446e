package room

import "legroom/rig"

// order is the order of the axes in which slews are proven.
func (m *Map) order() rig.Order {
	if m.taken != "" {
		return m.taken
	}
	return m.gauge.Model.Rig.Mount.Slew.Order
}

// OrderShare is what the bands that have a run on both sides would have if the mount were known to turn its axes in one order.
type OrderShare struct {
	Order  rig.Order // that order; unknown, the first: as the document stands, with which each must be free
	Flip   float64   // mean of the bands' flip windows, each with all its pieces, radians
	Idle   float64   // mean of their idle times, radians
	NoFlip int       // bands without a flip window
	Of     int       // bands
}

// byOrder says what the document's silence about the order of the axes costs: what rows have, and what they would have in each
// order. It is nil where the document says which, and where no row has a run on both sides.
func (m *Map) byOrder(s *sky, rows []Row) []OrderShare {
	list := orders(m.order())
	if len(list) == 1 {
		return nil
	}
	var two []Row
	for i := range rows {
		if r := &rows[i]; r.Stop.Reason != NeverUsable && r.Resume.Reason != NeverUsable {
			two = append(two, *r)
		}
	}
	if len(two) == 0 {
		return nil
	}
	out := []OrderShare{shareOf(rig.UnknownOrder, two)}
	for _, o := range list {
		known := *m
		known.taken, known.memory = o, nil
		InParallel(len(two), func(i int) {
			r := Row{DecFrom: two[i].DecFrom, DecTo: two[i].DecTo, West: two[i].West, East: two[i].East}
			known.choose(s, &r, s.upIn(r.DecFrom, r.DecTo))
			two[i] = r
		})
		out = append(out, shareOf(o, two))
	}
	return out
}

func shareOf(o rig.Order, rows []Row) OrderShare {
	s := OrderShare{Order: o, Of: len(rows)}
	for i := range rows {
		s.Flip += length(rows[i].Flip) / float64(len(rows))
		s.Idle += rows[i].Idle / float64(len(rows))
		if len(rows[i].Flip) == 0 {
			s.NoFlip++
		}
	}
	return s
}
