package watch

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/room"
	"legroom/sky"
)

// sunWatch keeps an uncovered tube away from the Sun by day.
type sunWatch struct {
	site    sky.Site
	head    *axes.Head
	angle   float64 // radians
	covered bool
}

// up tells whether the Sun stands above the horizon, refraction included, and the tube is not covered.
func (s *sunWatch) up(t time.Time) bool { return !s.covered && s.site.SunAltitude(t) >= sky.RiseSet }

// direction is where the Sun stands, world frame.
func (s *sunWatch) direction(t time.Time) r3.Vec {
	e := s.site.Sun(t)
	return axes.Direction(s.site.Lat, s.site.HourAngle(t, e), e.Dec)
}

// separation is the angle between where the tube points and the Sun.
func (s *sunWatch) separation(at axes.Angles, t time.Time) float64 {
	return angle(s.head.Pointing(at), s.direction(t))
}

func angle(a, b r3.Vec) float64 { return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b)) }

// approaching tells whether a motion has to be stopped: by day, uncovered, the Sun within the angle and what the stop takes, and
// nearer than it was.
func (s *sunWatch) approaching(from, at axes.Angles, t time.Time, r rates, exposed time.Duration) (sep float64, near, stop bool) {
	if !s.up(t) {
		return 0, false, false
	}
	sep = s.separation(at, t)
	before := s.separation(from, t)
	return sep, sep < s.angle, sep < s.angle+(r.ra+r.dec)*exposed.Seconds() && sep < before
}

// sunCell is the smallest half-width of a patch of axis angles in the search of a path, radians.
const sunCell = 0.25 * math.Pi / 180

// clear tells whether every pose of a rectangle of axis angles stays out of the angle while a slew lasts. A turn of both axes by hθ and hβ moves the
// pointing by at most hθ + hβ, so that the middle of a patch answers for all of it. What is not proven is not clear.
func (s *sunWatch) clear(r room.Rect, t time.Time, takes time.Duration) bool {
	sun := s.direction(t)
	motion := sky.SiderealRate * takes.Seconds() // what the Sun does meanwhile, at most
	var look func(r room.Rect) bool
	look = func(r room.Rect) bool {
		hRA, hDec := (r.RATo-r.RAFrom)/2, (r.DecTo-r.DecFrom)/2
		if !(hRA <= 7 && hDec <= 7) {
			return false
		}
		c := r.Centre()
		switch sep := angle(s.head.Pointing(c), sun) - motion; {
		case sep-hRA-hDec >= s.angle:
			return true
		case sep+motion < s.angle || math.Max(hRA, hDec) <= sunCell:
			return false
		}
		a, b := r, r
		if hRA >= hDec {
			a.RATo, b.RAFrom = c.RA, c.RA
		} else {
			a.DecTo, b.DecFrom = c.Dec, c.Dec
		}
		return look(a) && look(b)
	}
	return look(r)
}

// meets is when, within a day, the Sun first stands above the horizon within the angle of where a tube points that stands still.
func (s *sunWatch) meets(at axes.Angles, from time.Time) (time.Time, bool) {
	u := s.head.Pointing(at)
	away := func(t time.Time) float64 { return -angle(u, s.direction(t)) }
	// The Sun goes round once a day, and a degree a day along the ecliptic.
	near := sky.AtLeast(away, -s.angle, 1.05*sky.SiderealRate)
	ws := sky.Windows(sky.All(near, s.site.SunAbove(sky.RiseSet)), from, from.Add(24*time.Hour))
	if len(ws) == 0 {
		return time.Time{}, false
	}
	return ws[0].From, true
}

func (s *sunWatch) words(sep float64) string {
	if sep >= s.angle {
		return fmt.Sprintf("the tube is not covered, points %.0f° from the Sun and comes nearer, with %.0f° to be kept after a stop", axes.Deg(sep), axes.Deg(s.angle))
	}
	return fmt.Sprintf("the tube is not covered and points %.0f° from the Sun; %.0f° are to be kept", axes.Deg(sep), axes.Deg(s.angle))
}
