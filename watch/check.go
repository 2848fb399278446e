package watch

import (
	"errors"
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

// How far the mount's time may be from this computer's, and its site and sidereal time from the rig's.
const (
	clockOff    = time.Minute
	siderealOff = 0.25 * math.Pi / 180
	siteOff     = 0.25 * math.Pi / 180
)

// checker looks at readings for what makes the watch blind. It keeps what it needs of earlier ones.
type checker struct {
	site    sky.Site
	equinox mount.Equinox

	lags         lags
	wall, mono   time.Time
	set          time.Duration // by how much this computer's clock was set since the reference pose was confirmed, in all
	lostAt       time.Time     // since when no usable reading came; zero: one came
	disconnected bool          // the driver said that it had lost the mount
}

// LongSilence is how long the link may be gone before nobody can say what the mount did meanwhile: power may have been off.
const LongSilence = 10 * time.Second

// usable puts a reading's place of date in order, or says why it is no reading.
func (c *checker) usable(r *mount.Reading) (Reason, error) {
	if r.Equinox == mount.UnknownEquinox {
		if c.equinox == mount.UnknownEquinox {
			return BlindEquinox, errors.New("the driver does not say whether its coordinates are of date or J2000; say it in the options")
		}
		r.Place = c.equinox.ToDate(r.RA, r.Dec, r.Got)
	}
	ra, dec := r.Place.RA, r.Place.Dec
	if math.IsNaN(ra-ra) || math.IsNaN(dec-dec) || math.Abs(dec) > math.Pi/2+1e-9 || ra < -1e-9 || ra > 2*math.Pi+1e-9 {
		return BlindPlace, fmt.Errorf("right ascension %v h, declination %v° is no place", axes.Hours(ra), axes.Deg(dec))
	}
	if t := r.Sidereal; r.SiderealSaid && (math.IsNaN(t-t) || t < -1e-9 || t > 2*math.Pi+1e-9) {
		return BlindClock, fmt.Errorf("sidereal time %v h is none", axes.Hours(t))
	}
	if r.Got.Before(r.Asked) {
		return BlindOld, errors.New("the reading ends before it begins")
	}
	return "", nil
}

// times holds the mount's clock and site against the computer's clock and the rig's site. period is the loop's.
func (c *checker) times(v *resolved, r mount.Reading, period time.Duration) {
	mid := r.Asked.Add(r.Got.Sub(r.Asked) / 2)
	late := r.Got.Sub(r.Asked) / 2 // the mount's clock was read at any moment of it
	if r.UTCSaid {
		if off := r.UTC.Sub(mid); off.Abs() > clockOff+late {
			v.blind(BlindClock, "the mount's clock is off this computer's by %v", off.Round(time.Second))
		}
	}
	if r.SiderealSaid {
		off := axes.Wrap(r.Sidereal - c.site.SiderealTime(mid))
		if math.Abs(off) > siderealOff+late.Seconds()*sky.SiderealRate {
			v.blind(BlindClock, "the mount's sidereal time is off by %.2f°: its clock or longitude, or this computer's clock, or the rig's longitude is wrong", axes.Deg(off))
		}
	}
	if r.SiteSaid {
		dLat, dLon := r.Lat-c.site.Lat, axes.Wrap(r.Lon-c.site.Lon)
		if !(math.Abs(dLat) <= siteOff && math.Abs(dLon) <= siteOff) {
			v.blind(BlindSite, "the mount is set to latitude %.2f°, longitude %.2f°, the rig to %.2f°, %.2f°",
				axes.Deg(r.Lat), axes.Deg(r.Lon), axes.Deg(c.site.Lat), axes.Deg(c.site.Lon))
		}
	}
	if clock, d, stands := c.lags.standing(&r, 3*period); stands {
		v.blind(BlindFrozen, "the mount's %s has not advanced for %v", clockNames[clock], d.Round(100*time.Millisecond))
	}
}

// clockNoise is what this computer's clock and its count of seconds go apart without being set, from one look to the next.
const clockNoise = 10 * time.Millisecond

// clockSet is from when on a step of this computer's clock begins the mount's clocks anew: a driver on this computer may go by it.
const clockSet = 250 * time.Millisecond

// computer finds out by how much this computer's clock was set since the last look: its reading and its count of seconds went apart.
func (c *checker) computer(now time.Time) time.Duration {
	defer func() { c.wall, c.mono = now.Round(0), now }()
	if c.wall.IsZero() {
		return 0
	}
	return now.Round(0).Sub(c.wall) - now.Sub(c.mono)
}

// kindOf names the kind of an error of the link.
func kindOf(err error) (string, Reason) {
	switch {
	case errors.Is(err, mount.ErrNotConnected):
		return NotConnected, BlindLink
	case errors.Is(err, mount.ErrAnswer):
		return "answer", BlindAnswer
	case errors.Is(err, mount.ErrLacks):
		return "lacks", BlindAnswer
	case errors.Is(err, mount.ErrParked):
		return "parked", BlindAnswer
	case errors.Is(err, mount.ErrRefused):
		return "refused", BlindAnswer
	}
	return "link", BlindLink
}
