package change

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"legroom/axes"
	"legroom/room"
)

// AimKind is what the solver is to reach.
type AimKind string

const (
	MostRoom  AimKind = "most-room"  // as much room as can be
	LeastIdle AimKind = "least-idle" // as little idle time as can be
	NoIdle    AimKind = "no-idle"    // none, at the least price
	Past      AimKind = "past"       // side west tracks so long past the meridian, and no idle time, at the least price
)

// Aim is what the solver is to reach, for the owner's targets or else for all that culminates above Altitude.
type Aim struct {
	Kind     AimKind
	Altitude float64 // radians: idle time counts above it
	Minutes  float64 // of Past
}

var aimForm = regexp.MustCompile(`^([a-z-]+)(?:=([0-9.]+)(min|deg)?)?(?: above ([0-9.]+))?$`)

// ParseAim reads `most-room`, `least-idle`, `no-idle`, `past=20`; behind the last three may stand ` above 30`, an altitude in degrees.
func ParseAim(s string) (Aim, error) {
	wrong := fmt.Errorf("aim %q: give most-room, least-idle, no-idle or past=MINUTES; behind one of the last three may stand an altitude in degrees, such as \"no-idle above 30\"", s)
	m := aimForm.FindStringSubmatch(strings.Join(strings.Fields(s), " "))
	if m == nil {
		return Aim{}, wrong
	}
	a := Aim{Kind: AimKind(m[1])}
	var err error
	switch a.Kind {
	case MostRoom:
		if m[2]+m[4] != "" {
			return Aim{}, wrong
		}
	case LeastIdle, NoIdle:
		if m[2] != "" {
			return Aim{}, wrong
		}
	case Past:
		if a.Minutes, err = strconv.ParseFloat(m[2], 64); err != nil || a.Minutes > 720 {
			return Aim{}, wrong
		}
	default:
		return Aim{}, wrong
	}
	if m[4] != "" {
		deg, err := strconv.ParseFloat(m[4], 64)
		if err != nil || deg >= 90 {
			return Aim{}, wrong
		}
		a.Altitude = axes.Rad(deg)
	}
	return a, nil
}

// String writes the aim as ParseAim reads it.
func (a Aim) String() string {
	s := string(a.Kind)
	if a.Kind == Past {
		s += "=" + strconv.FormatFloat(a.Minutes, 'f', -1, 64)
	}
	if a.Altitude > 0 {
		s += " above " + strconv.FormatFloat(math.Round(axes.Deg(a.Altitude)*1e6)/1e6, 'f', -1, 64)
	}
	return s
}

// Cheapest tells whether the aim is to be met at the least price; otherwise as well as can be.
func (a Aim) Cheapest() bool { return a.Kind == NoIdle || a.Kind == Past }

// never is what an aim is missed by when there is no run on the side that it needs, minutes: a day.
const never = 1440

// miss is by how many minutes a choice of runs misses the aim in a band.
func (a *Aim) miss(c choice, b *band) float64 {
	idle := 0.0
	if gap := c.idle(); gap > 0 {
		for _, i := range room.Common(room.Common([]room.Interval{{From: c.west.To, To: c.east.From}}, wholeDay), b.high) {
			idle += axes.Minutes(i.To - i.From)
		}
	}
	if a.Kind != Past {
		return idle
	}
	if c.west == nil {
		return never
	}
	return idle + math.Max(0, axes.Minutes(b.wanted(a)-c.west.To))
}

// wanted is the hour angle up to which an aim of minutes past the meridian wants side west, no later than the band sets; −Inf for
// another aim.
func (b *band) wanted(a *Aim) float64 {
	if a.Kind != Past {
		return math.Inf(-1)
	}
	return math.Min(axes.FromHours(a.Minutes/60), b.up[len(b.up)-1].To)
}

// misses returns what the aim is missed by in each band, minutes, by the choice that its row makes.
func (a *Aim) misses(m *room.Map, list []band) []float64 {
	out := make([]float64, len(list))
	for i := range list {
		b := &list[i]
		r := runsOf(m, b)
		most := r.most(b)
		if most == 0 && a.Kind == Past {
			out[i] = never
		} // otherwise no room at all is no idle time, as room.Row has it
		// Between equals two sides beat one, as room.Row has it.
		sides := 1
		r.choices(b, false, func(c choice, usable float64) {
			if usable >= most-sumSlop {
				sides = max(sides, c.sides())
			}
		})
		r.choices(b, false, func(c choice, usable float64) {
			if usable >= most-sumSlop && c.sides() == sides {
				out[i] = math.Max(out[i], a.miss(c, b))
			}
		})
	}
	return out
}

// sumSlop is the rounding of sums of angles, radians.
const sumSlop = 1e-9

// missesAtLeast bounds from below what the aim is missed by in a band, for all free hours that hold those of sure and lie within those of
// possible. A row chooses the runs with the most time, which is no less than what sure gives: so only choices that may have as much
// count.
func (a *Aim) missesAtLeast(sure, possible runs, b *band) float64 {
	return a.least(&possible, b, sure.most(b))
}

// least is the least that any choice with at least so much time misses the aim by.
func (a *Aim) least(r *runs, b *band, usable float64) float64 {
	least := math.Inf(1)
	r.choices(b, true, func(c choice, u float64) {
		if u >= usable-2*sumSlop {
			least = math.Min(least, a.miss(c, b))
		}
	})
	switch {
	case !math.IsInf(least, 1):
		return least
	case a.Kind == Past:
		return never // no run at all
	}
	return 0
}

func mean(list []float64) float64 {
	if len(list) == 0 {
		return 0
	}
	sum := 0.0
	for _, x := range list {
		sum += x
	}
	return sum / float64(len(list))
}
