// Package axes turns sky pointings into the mount's axis angles and back, and places a rig's parts in the world.
//
// World: x east, y north, z up. The elevated pole is p, x̂ the counterweight-down direction of the declination axis' saddle
// end, W west. RA axis angle θ is counted from counterweight-down, positive the way the sky moves; declination axis angle β
// from the elevated pole:
//
//	a(θ) = cosθ·x̂ + sinθ·W             from the crossing towards the saddle
//	b(θ) = sinθ·x̂ − cosθ·W
//	u(θ,β) = cosβ·p + sinβ·b(θ)         where the tube points; v = u × a
//	side west: θ = H + 90°, β = +P      side east: θ = H − 90°, β = −P,   P = 90° − s·δ
//
// Angles are radians, lengths millimetres.
package axes

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Side is the pointing state, named by where the tube is when its target is at upper transit.
type Side int8

const (
	West Side = iota // works the eastern sky
	East
)

func (s Side) String() string {
	if s == East {
		return "east"
	}
	return "west"
}

// ParseSide reads "west" or "east".
func ParseSide(s string) (Side, error) {
	switch s {
	case "west":
		return West, nil
	case "east":
		return East, nil
	}
	return West, fmt.Errorf("side %q: give west or east", s)
}

// Pose is where the tube points, and on which side. HourAngle and Dec are radians.
type Pose struct {
	Side      Side
	HourAngle float64
	Dec       float64
}

// Angles are the two axis angles, radians, unwrapped: RA is θ, Dec is β.
type Angles struct{ RA, Dec float64 }

const (
	quarter = math.Pi / 2
	// DegPerHour is how far the RA axis turns in one hour of hour angle.
	DegPerHour = 15
)

// Rad and Deg convert at the edges of the program.
func Rad(deg float64) float64 { return deg * (math.Pi / 180) }

// Deg converts radians to degrees.
func Deg(rad float64) float64 { return rad * (180 / math.Pi) }

// Hours converts radians of hour angle to hours.
func Hours(rad float64) float64 { return rad * (12 / math.Pi) }

// FromHours converts hours of hour angle to radians.
func FromHours(h float64) float64 { return h * (math.Pi / 12) }

// Minutes converts radians of hour angle to minutes of time.
func Minutes(rad float64) float64 { return rad * (720 / math.Pi) }

// Wrap brings an angle into [−π, π).
func Wrap(x float64) float64 {
	x = math.Mod(x+math.Pi, 2*math.Pi)
	if x < 0 {
		x += 2 * math.Pi
	}
	return x - math.Pi
}

// Hemisphere is +1 in the north and on the equator, −1 in the south.
func Hemisphere(lat float64) float64 {
	if lat < 0 {
		return -1
	}
	return 1
}

// Direction returns the unit vector, world frame, of hour angle H and declination δ at latitude φ: the astronomer's
// rotation of (H, δ) to the horizon.
func Direction(lat, hourAngle, dec float64) r3.Vec {
	sφ, cφ := math.Sincos(lat)
	sH, cH := math.Sincos(hourAngle)
	sδ, cδ := math.Sincos(dec)
	return r3.Vec{X: -cδ * sH, Y: sδ*cφ - cδ*cH*sφ, Z: sδ*sφ + cδ*cH*cφ}
}

// HourAngleDec is the inverse of Direction; the hour angle lies in [−π, π], and is 0 at a pole.
func HourAngleDec(lat float64, u r3.Vec) (hourAngle, dec float64) {
	sφ, cφ := math.Sincos(lat)
	x := -u.Y*sφ + u.Z*cφ // towards the equator on the meridian
	z := u.Y*cφ + u.Z*sφ  // towards the celestial north pole
	return math.Atan2(-u.X, x), math.Atan2(z, math.Hypot(x, u.X))
}

// AltAz returns the altitude and the azimuth, clockwise from north in [0, 2π), of a world direction.
func AltAz(u r3.Vec) (alt, az float64) {
	alt = math.Atan2(u.Z, math.Hypot(u.X, u.Y))
	az = math.Atan2(u.X, u.Y)
	if az < 0 {
		az += 2 * math.Pi
	}
	return alt, az
}
