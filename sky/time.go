package sky

import (
	"fmt"
	"math"
	"time"
	_ "time/tzdata" // zones by IANA name on every machine

	"github.com/soniakeys/meeus/v3/nutation"
	"github.com/soniakeys/meeus/v3/sidereal"
)

const (
	// taiMinusUTC is in force since 2017 (IERS Bulletin C); TT − TAI is 32.184 s by definition.
	taiMinusUTC = 37.0
	ttMinusUTC  = taiMinusUTC + 32.184

	unixEpochJD = 2440587.5
	daySeconds  = 86400.0

	// SiderealRate is how fast hour angles grow, radians a second: 15.041067″ (a turn in 86164.0905 s).
	SiderealRate = 2 * math.Pi / 86164.0905

	arcsec = math.Pi / (180 * 3600)
)

// julian returns the Julian date of t in UTC, which stands for UT1. Its double resolves 40 µs.
func julian(t time.Time) float64 {
	return unixEpochJD + (float64(t.Unix())+float64(t.Nanosecond())*1e-9)/daySeconds
}

// julianTT returns the Julian date of t in Terrestrial Time.
func julianTT(t time.Time) float64 { return julian(t) + ttMinusUTC/daySeconds }

// SiderealTime returns the apparent sidereal time at Greenwich in [0, 2π), by Meeus chapter 12 (IAU 1982) and the nutation of
// chapter 22; within 0.1″ of ERFA's gst06a in 2020–2040.
func SiderealTime(t time.Time) float64 { return at(t).sidereal }

// instant is what every place of one moment needs: its Julian date in Terrestrial Time, Greenwich apparent sidereal time,
// mean obliquity and nutation.
type instant struct{ jd, sidereal, ε0, Δψ, Δε float64 }

func at(t time.Time) instant {
	in := nutated(julianTT(t))
	in.sidereal = turn(sidereal.Mean(julian(t)).Rad() + in.Δψ*math.Cos(in.ε0+in.Δε))
	return in
}

// nutated leaves the sidereal time out.
func nutated(jd float64) instant {
	Δψ, Δε := nutationOf(jd)
	return instant{jd: jd, ε0: nutation.MeanObliquity(jd).Rad(), Δψ: Δψ, Δε: Δε}
}

// LoadZone returns the time zone of an IANA name from the embedded data.
func LoadZone(name string) (*time.Location, error) {
	if name == "" || name == "Local" {
		return nil, fmt.Errorf("time zone %q: write an IANA name such as Europe/Madrid", name)
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return nil, fmt.Errorf("time zone %q is not known: write an IANA name such as Europe/Madrid", name)
	}
	return zone, nil
}

// turn brings an angle into [0, 2π).
func turn(x float64) float64 {
	x = math.Mod(x, 2*math.Pi)
	if x < 0 {
		x += 2 * math.Pi
	}
	if x >= 2*math.Pi {
		return 0
	}
	return x
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
