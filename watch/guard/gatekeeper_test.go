package guard

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/room"
	"legroom/sky"
	"legroom/watch"
)

// gatekeeper stands before the mount and looks, with no help of the watch's proof, at what comes to it to set it in motion:
// from the guard, and from the watch itself on a way over waypoints.
type gatekeeper struct {
	*alpaca.Remote
	b *bench

	mu    sync.Mutex
	under string // the command that the mount is working on
	came  map[string]int
	wrong []string
}

// setsInMotion are the commands that come one at a time.
var setsInMotion = []string{"slewtocoordinates", "slewtocoordinatesasync", "slewtoaltaz", "slewtoaltazasync", "slewtotarget",
	"slewtotargetasync", "sideofpier", "park", "findhome", "unpark", "synctocoordinates", "synctotarget", "synctoaltaz"}

func (k *gatekeeper) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if !c.Put {
		return k.Remote.Call(ctx, c)
	}
	moves := c.Member == "tracking" && c.Bool("Tracking") || c.Member == "moveaxis" && c.Float("Rate") != 0
	if !moves && !slices.Contains(setsInMotion, c.Member) {
		k.count(c.Member)
		return k.Remote.Call(ctx, c)
	}
	var v any
	err := k.through(c.Member, k.judge(c), func() (err error) {
		v, err = k.Remote.Call(ctx, c)
		return err
	})
	return v, err
}

func (k *gatekeeper) count(member string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.came[member]++
}

// through lets a command through, whatever is wrong with it, and writes down what that is.
func (k *gatekeeper) through(member, why string, send func() error) error {
	k.mu.Lock()
	k.came[member]++
	if k.under != "" {
		k.wrong = append(k.wrong, fmt.Sprintf("%s while the mount works on %s", member, k.under))
	}
	k.under = member
	if why != "" {
		k.wrong = append(k.wrong, member+": "+why)
	}
	k.mu.Unlock()
	err := send()
	k.mu.Lock()
	defer k.mu.Unlock()
	k.under = ""
	return err
}

// legs stands before the mount where the watch itself sends slews and parks.
type legs struct {
	mount.Telescope
	k *gatekeeper
}

func (l legs) Slew(ctx context.Context, to sky.Equatorial, side *axes.Side) error {
	k := l.k
	return k.through("a leg", k.judgeLeg(k.ends(to)), func() error { return l.Telescope.Slew(ctx, to, side) })
}

func (l legs) Park(ctx context.Context) error {
	k := l.k
	return k.through("a leg to park", k.judgeLeg([]axes.Angles{{}}), func() error { return l.Telescope.Park(ctx) })
}

// judge says what is wrong with a command, "" if nothing.
func (k *gatekeeper) judge(c alpaca.Call) string {
	s, now := k.b.w.Status(), k.b.sim.State()
	switch {
	case len(s.Blind) > 0:
		return fmt.Sprintf("the watch is blind: %v", s.BlindWhy)
	case s.Rung == watch.Stopping || s.Rung == watch.Hooked || s.Held:
		return fmt.Sprintf("the watch stops the mount: %s", s.Why)
	case s.OnWay:
		return "a way over waypoints is being gone"
	case now.Slewing, (now.ByHand || !atRest(now)) && c.Member != "moveaxis":
		return fmt.Sprintf("the mount moves, at %v", now.Rates)
	}
	switch c.Member {
	case "park", "findhome":
		return k.judgeWay([]axes.Angles{{}}, now.Believed)
	case "slewtocoordinates", "slewtocoordinatesasync":
		return k.judgeWay(k.ends(k.b.guard.place(c)), now.Believed)
	case "slewtoaltaz", "slewtoaltazasync":
		return k.judgeWay(k.ends(k.b.placeAt(axes.Rad(c.Float("Altitude")), axes.Rad(c.Float("Azimuth")))), now.Believed)
	case "slewtotarget", "slewtotargetasync", "synctotarget":
		return "the mount's target may have been set anew since it was looked at"
	}
	return ""
}

func (k *gatekeeper) judgeLeg(ends []axes.Angles) string {
	now := k.b.sim.State()
	if now.ByHand || !atRest(now) {
		return fmt.Sprintf("the mount moves, at %v", now.Rates)
	}
	return k.judgeWay(ends, now.Believed)
}

// ends are the axis angles to which the mount may go for a place: on the side that the document says, and on the one that it
// takes.
func (k *gatekeeper) ends(place sky.Equatorial) (to []axes.Angles) {
	hour := axes.Wrap(k.b.site.SiderealTime(time.Now()) - place.RA)
	sides := k.b.w.Sides(place)
	if own, err := k.b.sim.SideOf(place); err == nil && !slices.Contains(sides, own) {
		sides = append(sides, own)
	}
	for _, side := range sides {
		at := theMap(k.b.t).Gauge().Model.Head.Angles(axes.Pose{Side: side, HourAngle: hour, Dec: place.Dec})
		to = append(to, axes.Angles{RA: axes.Wrap(at.RA), Dec: at.Dec})
	}
	return to
}

// placeAt is the place of date that stands at an altitude and azimuth now: the rotation of the frames of the design, not the
// guard's own.
func (b *bench) placeAt(alt, az float64) sky.Equatorial {
	sinAz, cosAz := math.Sincos(az)
	sinAlt, cosAlt := math.Sincos(alt)
	hour, dec := axes.HourAngleDec(b.site.Lat, r3.Vec{X: cosAlt * sinAz, Y: cosAlt * cosAz, Z: sinAlt})
	return sky.Equatorial{RA: math.Mod(b.site.SiderealTime(time.Now())-hour+4*math.Pi, 2*math.Pi), Dec: dec}
}

func (k *gatekeeper) judgeWay(to []axes.Angles, from axes.Angles) string {
	gauge := theMap(k.b.t).Gauge()
	scratch := gauge.NewScratch()
	for _, end := range to {
		if at, gap := nearestOnWay(gauge, scratch, from, end); gap <= 0 {
			return fmt.Sprintf("from %v to %v the parts meet at %v by %.1f mm", from, end, at, -gap)
		}
	}
	return ""
}

// nearestOnWay is where the rig, as it is measured, comes nearest to itself when both axes start at once and turn equally
// fast.
func nearestOnWay(g *room.Gauge, s *room.Scratch, from, to axes.Angles) (at axes.Angles, gap float64) {
	gap = math.Inf(1)
	ra, dec := to.RA-from.RA, to.Dec-from.Dec
	far := math.Max(math.Abs(ra), math.Abs(dec))
	for d := 0.0; ; d += axes.Rad(1) {
		d = math.Min(d, far)
		p := axes.Angles{RA: from.RA + math.Copysign(math.Min(d, math.Abs(ra)), ra),
			Dec: from.Dec + math.Copysign(math.Min(d, math.Abs(dec)), dec)}
		if n := g.Gap(p, s).Nearest.Gap; n < gap {
			at, gap = p, n
		}
		if d == far {
			return at, gap
		}
	}
}
