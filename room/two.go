package room

import (
	"math"

	"legroom/axes"
)

// twoNumber finds the largest pair of RA axis limits for the declinations in [decFrom, decTo].
//
// A stretch of RA axis angles with contact somewhere above the horizon ends the pair, unless all is free again before the
// counterweight bar is level: such an island would cost the sky behind it, and is listed as not protected instead. Strict ends
// the pair at islands as well.
func (m *Map) twoNumber(s *sky, sky []slice, decFrom, decTo float64) TwoNumber {
	cells := m.contacts(s, Interval{-math.Pi, math.Pi}, decFrom, decTo, nil)
	two, bad := m.ends(cells)
	two.DecFrom, two.DecTo = decFrom, decTo
	two.Unprotected = m.islands(cells, bad, two.West, two.East)
	two.Safe = len(two.Unprotected) == 0
	two.RoomCost = m.costEntered(sky, two.West, two.East)
	h, step := &m.gauge.Model.Head, m.gauge.Model.Rig.Mount.EntryStepDeg
	two.Meridian = meridianOf(h, s, two.West, two.East, decFrom, decTo)
	two.Entered = meridianOf(h, s, axes.Rad(Entry(two.West, step)), axes.Rad(Entry(two.East, step)), decFrom, decTo)
	two.StrictRoomCost = two.RoomCost
	if two.StrictWest != two.West || two.StrictEast != two.East {
		two.StrictRoomCost = m.costEntered(sky, two.StrictWest, two.StrictEast)
	}
	return two
}

// Entry is a limit, radians, as it is entered into a mount: in degrees, rounded down to its entry step, 1° when stepDeg is 0.
func Entry(rad, stepDeg float64) float64 {
	if stepDeg <= 0 {
		stepDeg = 1
	}
	n := math.Floor(axes.Deg(rad)/stepDeg + 1e-12)
	return math.Round(n*stepDeg*1e9)/1e9 + 0 // +0: −0 would show
}

// costEntered is the cost of a pair as it is entered.
func (m *Map) costEntered(sky []slice, west, east float64) float64 {
	step := m.gauge.Model.Rig.Mount.EntryStepDeg
	return cost(sky, axes.Rad(Entry(west, step)), axes.Rad(Entry(east, step)))
}

// Pair returns the two-number limit for the declinations from decFrom to decTo alone, radians: TwoNumber's West and East
// to a millionth of a cell.
func (m *Map) Pair(decFrom, decTo float64) (west, east float64) {
	all := Interval{-math.Pi, math.Pi}
	step := m.fineness()
	two, _ := m.ends(m.contacts(newSky(m.gauge.Model), all, decFrom, decTo, newShadow(all, step)))
	return math.Max(0, two.West-shadowSlop*step), math.Max(0, two.East-shadowSlop*step)
}

// ends finds where contacts end the pair, and the stretches of RA axis angle that they fill.
func (m *Map) ends(cells []Rect) (two TwoNumber, bad []Interval) {
	for _, c := range cells {
		bad = append(bad, Interval{c.RAFrom, c.RATo})
	}
	bad = union(bad)
	t := m.gauge.Model.Travel
	strictWest, strictEast := math.Min(t.RATo, math.Pi), math.Min(-t.RAFrom, math.Pi)
	west, east := strictWest, strictEast
	for _, b := range bad {
		if b.To >= 0 {
			strictWest = math.Min(strictWest, math.Max(b.From, 0))
			if b.To >= quarter {
				west = math.Min(west, math.Max(b.From, 0))
			}
		}
		if b.From <= 0 {
			strictEast = math.Min(strictEast, math.Max(-b.To, 0))
			if b.From <= -quarter {
				east = math.Min(east, math.Max(-b.To, 0))
			}
		}
	}
	return TwoNumber{West: west, East: east, StrictWest: strictWest, StrictEast: strictEast}, bad
}

// cost is the share of the room on either side that a pair of limits takes away from what limits by declination give.
func cost(sky []slice, west, east float64) float64 {
	by, with := share(sky, everything), share(sky, Interval{-east, west})
	if by.Either == 0 {
		return 0
	}
	return math.Max(0, 1-with.Either/by.Either)
}

// contacts lists the cells that are not free and hold a pose above the horizon with a declination in [decFrom, decTo], both
// signs of β, with RA axis angles in ra, unwrapped. With a shadow it leaves out those that would add no RA axis angle.
func (m *Map) contacts(s *sky, ra Interval, decFrom, decTo float64, dark *shadow) []Rect {
	h := &m.gauge.Model.Head
	off := h.Misalignment() + 1e-9
	var out []Rect
	for _, side := range []axes.Side{axes.West, axes.East} {
		a := axes.Angles{}
		b := a
		hs := axes.Hemisphere(h.Latitude)
		p0, p1 := quarter-hs*decFrom, quarter-hs*decTo
		a.Dec, b.Dec = math.Max(0, math.Min(p0, p1)-off), math.Min(math.Pi, math.Max(p0, p1)+off)
		used := Rect{ra.From, ra.To, a.Dec, b.Dec}
		if side == axes.East {
			used.DecFrom, used.DecTo = -b.Dec, -a.Dec
		}
		if !used.valid() { // no declinations to answer for
			return []Rect{{ra.From, ra.To, -math.Pi, math.Pi}}
		}
		patch := func(c Rect) over {
			hRA, hDec := c.half()
			return s.patch(h.Pointing(c.Centre()), hRA+hDec)
		}
		add := func(c Rect) {
			c.RAFrom, c.RATo = math.Max(c.RAFrom, used.RAFrom), math.Min(c.RATo, used.RATo)
			c.DecFrom, c.DecTo = math.Max(c.DecFrom, used.DecFrom), math.Min(c.DecTo, used.DecTo)
			if c.RAFrom < c.RATo && c.DecFrom < c.DecTo {
				m.cut(c, patch, dark, &out)
			}
		}
		m.visit(used, Edge, nil, func(c Rect, _ State) bool {
			add(c)
			return true
		})
		for _, i := range m.ra.notFree(used.RAFrom, used.RATo) {
			add(Rect{i.From, i.To, used.DecFrom, used.DecTo})
		}
		for _, i := range m.dec.notFree(used.DecFrom, used.DecTo) {
			add(Rect{used.RAFrom, used.RATo, i.From, i.To})
		}
	}
	return out
}

// cut keeps a rectangle that is not free where it is above the horizon: whole, or halved until the pieces are as small as the
// map's cells where the horizon crosses it.
func (m *Map) cut(c Rect, patch func(Rect) over, dark *shadow, out *[]Rect) {
	if dark.holds(c) {
		return
	}
	stands := patch(c)
	if stands == below {
		return
	}
	fine := m.fineness() * 1.01
	w, h := c.RATo-c.RAFrom, c.DecTo-c.DecFrom
	if stands == above || w <= fine && h <= fine {
		*out = append(*out, c)
		dark.fall(c)
		return
	}
	mid := c.Centre()
	a, b := c, c
	if w >= h {
		a.RATo, b.RAFrom = mid.RA, mid.RA
	} else {
		a.DecTo, b.DecFrom = mid.Dec, mid.Dec
	}
	m.cut(a, patch, dark, out)
	m.cut(b, patch, dark, out)
}

// islands describes the contacts that lie inside the pair, one for each stretch and side.
func (m *Map) islands(cells []Rect, bad []Interval, west, east float64) []Island {
	g := m.gauge
	s := g.NewScratch()
	var out []Island
	for _, b := range bad {
		if b.To <= -east || b.From >= west {
			continue
		}
		for _, side := range []axes.Side{axes.West, axes.East} {
			i := Island{RAFrom: math.Inf(1), RATo: math.Inf(-1), DecFrom: math.Inf(1), DecTo: math.Inf(-1), Side: side}
			worst := math.Inf(1)
			for _, c := range cells {
				mid := c.Centre()
				if c.RATo < b.From || c.RAFrom > b.To || (mid.Dec < 0) != (side == axes.East) {
					continue
				}
				i.RAFrom, i.RATo = math.Min(i.RAFrom, c.RAFrom), math.Max(i.RATo, c.RATo)
				for _, d := range []float64{c.DecFrom, c.DecTo} {
					δ := axes.Hemisphere(g.Model.Head.Latitude) * (quarter - math.Abs(d))
					i.DecFrom, i.DecTo = math.Min(i.DecFrom, δ), math.Max(i.DecTo, δ)
				}
				if gap := g.Gap(mid, s); gap.Lower < worst {
					worst = gap.Lower
					i.A, i.B = g.Model.Parts[gap.LowerPair[0]].Name, g.Model.Parts[gap.LowerPair[1]].Name
				}
			}
			if i.RAFrom < i.RATo {
				out = append(out, i)
			}
		}
	}
	return out
}

// Mine is the answer to "are mine safe?" for limits that the owner already has.
type Mine struct {
	West, East float64   // radians, as TwoNumber
	Safe       bool      // at the declinations of Best
	Contacts   []Island  // what lies inside them
	RoomCost   float64   // against limits by declination
	Best       TwoNumber // for the same declinations, which it names
}

// Mine answers for the owner's own pair, for the declinations of o. A pair with nothing
// between, or a limit that is no number or more than a turn away, is not safe.
func (m *Map) Mine(west, east float64, o LimitOptions) Mine {
	if o.DecFromDeg == 0 && o.DecToDeg == 0 {
		o.DecFromDeg, o.DecToDeg = -90, 90
	}
	s := newSky(m.gauge.Model)
	sky := m.slices(s)
	decFrom, decTo := axes.Rad(o.DecFromDeg), axes.Rad(o.DecToDeg)
	best := m.twoNumber(s, sky, decFrom, decTo)
	if !(math.Abs(west) <= turn && math.Abs(east) <= turn && -east < west) {
		return Mine{West: west, East: east, RoomCost: 1, Best: best}
	}
	// They may reach past half a turn, where the same poses come again.
	cells := m.contacts(s, Interval{-math.Max(math.Pi, east), math.Max(math.Pi, west)}, decFrom, decTo, nil)
	var bad []Interval
	inside := cells[:0:0]
	for _, c := range cells {
		if c.RAFrom < west && c.RATo > -east {
			inside = append(inside, c)
			bad = append(bad, Interval{c.RAFrom, c.RATo})
		}
	}
	r := Mine{West: west, East: east, RoomCost: cost(sky, west, east), Best: best}
	r.Contacts = m.islands(inside, union(bad), west, east)
	r.Safe = len(inside) == 0
	return r
}
