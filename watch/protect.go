package watch

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// rates are axis rates, rad/s, both at least 0.
type rates struct{ ra, dec float64 }

func (r rates) most(o rates) rates { return rates{math.Max(r.ra, o.ra), math.Max(r.dec, o.dec)} }

func (r rates) times(k float64) rates { return rates{r.ra * k, r.dec * k} }

func (r rates) plus(o rates) rates { return rates{r.ra + o.ra, r.dec + o.dec} }

// closing bounds how fast the gap between parts a and b shrinks at axis rates, mm/s. b stands further out in the chain ground,
// arm, tube: the RA axis moves it against the ground, the declination axis moves the tube, each point by at most its greatest
// distance from that axis (DESIGN 5).
func closing(m *axes.Model, a, b int, r rates) float64 {
	v := 0.0
	if f := m.Parts[a].Frame; f == rig.Ground || f == rig.Polar {
		v = r.ra * m.Parts[b].FromPolarAxis
	}
	if m.Parts[b].Frame == rig.TubeFrame {
		v += r.dec * m.Parts[b].FromDecAxis
	}
	return v
}

// fastest bounds closing for every pair.
func fastest(m *axes.Model, r rates) float64 {
	v := 0.0
	for i := range m.Parts {
		p := &m.Parts[i]
		v = math.Max(v, r.ra*p.FromPolarAxis+r.dec*p.FromDecAxis)
	}
	return v
}

// stopping is what a stop takes of a gap that closes at v mm/s: exposed is the age of the reading, the call deadline and the
// period; brake the time from full rate to a standstill, evenly. mm.
func stopping(v float64, exposed, brake time.Duration) float64 {
	return v * (exposed.Seconds() + brake.Seconds()/2)
}

// slewRates are the rates that a slew may have: the document's, and its spread.
func slewRates(m *axes.Model) rates {
	s := m.Rig.Mount.Slew
	spread := 0.3
	if s.SpreadPercent != nil {
		spread = *s.SpreadPercent / 100
	}
	return rates{axes.Rad(s.RADegPerS), axes.Rad(s.DecDegPerS)}.times(1 + spread)
}

// Protected says how fast a slew may be that the watch can still stop in time, whatever free pose it starts from and wherever it
// goes, without having been proven beforehand.
type Protected struct {
	// RADegPerS and DecDegPerS are that rate: the document's, with its spread, scaled.
	RADegPerS  float64 `json:"ra_deg_per_s"`
	DecDegPerS float64 `json:"dec_deg_per_s"`
	Share      float64 `json:"share"`        // of the document's rates with their spread; 1 or more: all are protected
	ClosingMMS float64 `json:"closing_mm_s"` // how fast a gap may close at the document's rates with their spread
	ExposedS   float64 `json:"exposed_s"`    // from the reading before it began until the stop works
	All        bool    `json:"all"`          // every slew of this mount is protected
}

// words says what is protected of a mount that slews faster, rounded down.
func (p Protected) words() string {
	down := func(x float64) float64 { return math.Floor(x*100) / 100 }
	return fmt.Sprintf("a slew that is not proven beforehand is protected up to %.2f°/s (RA) and %.2f°/s (declination); this mount slews faster",
		down(p.RADegPerS), down(p.DecDegPerS))
}

// Protects computes the highest protected slew rate. A slew may begin just after a look that saw none, with the gap at the
// margin: the next look comes a period later, it and the stop take their deadlines, and the mount brakes. All this has to fit
// into the margin: v·(period + reading + command + brake/2) ≤ margin. The options have to be filled in.
func Protects(g *room.Gauge, o Options) Protected {
	full := slewRates(g.Model)
	v := fastest(g.Model, full)
	exposed := o.Period + o.ReadDeadline + o.CommandDeadline
	p := Protected{ClosingMMS: v, ExposedS: exposed.Seconds(), Share: 1}
	if take := stopping(v, exposed, o.BrakeTime); take > 0 {
		p.Share = g.MarginMM / take
	}
	p.RADegPerS, p.DecDegPerS, p.All = axes.Deg(full.ra)*p.Share, axes.Deg(full.dec)*p.Share, p.Share >= 1
	return p
}
