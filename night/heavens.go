package night

import (
	"math"
	"time"

	"legroom/sky"
)

// heavens is what the sky does in one night, whatever the rig.
type heavens struct {
	night   *sky.Night
	options Options
	dark    spans
	moonUp  spans
	moon    sky.MoonPath
	phase   float64
	lit     float64
}

func newHeavens(n *sky.Night, moonUp []sky.Window, o Options) *heavens {
	h := &heavens{night: n, options: o, moonUp: moonUp, moon: n.Site.MoonPath(n.Noon, n.NextNoon)}
	h.darken()
	h.phase, h.lit = sky.MoonPhase(n.Midnight)
	return h
}

// darken finds when the Sun is low enough.
func (h *heavens) darken() {
	h.dark = h.night.Dark.Windows
	if h.options.SunAltitude != h.night.Dark.Altitude {
		h.dark = sky.Windows(sky.Not(h.night.Site.SunAbove(h.options.SunAltitude)), h.night.Noon, h.night.NextNoon)
	}
}

// seen is what the sky gives of one target.
type seen struct {
	target     sky.Target
	apparent   sky.Equatorial // at midnight
	track      sky.Track
	transit    time.Time
	up, bright spans // above horizon and least altitude; the Moon too near
	sky        spans // dark, up, and the Moon far enough
	highest    float64
	moonApart  float64
	// light is what each whole minute from the night's first is worth, 0…1; 0 outside of sky.
	light []float64
}

func (h *heavens) see(t sky.Target) seen {
	n := h.night
	s := seen{target: t, apparent: t.Place.Apparent(n.Midnight)}
	s.track = n.Site.Track(n.Midnight, s.apparent)
	s.transit = nearest(s.track.Transits(n.Noon, n.NextNoon), n.Midnight)
	s.up = sky.Windows(h.high(t, s.apparent), n.Noon, n.NextNoon)
	s.bright = h.tooBright(t, s.apparent)
	s.sky = h.dark.and(s.up).less(s.bright)
	s.highest = h.highest(s.track, s.transit)
	s.moonApart = h.moonApart(s.sky, s.apparent)
	s.light = h.light(&s)
	return s
}

// high holds while every pointing of a target is above the horizon and high enough: for a mosaic its place and eight around it.
func (h *heavens) high(t sky.Target, e sky.Equatorial) sky.Condition {
	places := []sky.Equatorial{e}
	if r := mosaicOf(t); r > 0 {
		const around = 8
		for k := range around {
			places = append(places, e.Off(r, 2*math.Pi*float64(k)/around))
		}
	}
	var all []sky.Condition
	for _, p := range places {
		track := h.night.Site.Track(h.night.Midnight, p)
		all = append(all, track.AboveHorizon(), track.Above(h.options.MinAltitude))
	}
	return sky.All(all...)
}

// first is the night's first whole minute, from which light counts.
func (h *heavens) first() time.Time { return h.night.Noon.Truncate(time.Minute) }

// light is the share of the best sky's time that would take a picture of the same signal to noise in each minute, when the sky's own
// light is most of the noise. That goes with the square of what the air lets through, and inversely with the sky's brightness.
func (h *heavens) light(s *seen) []float64 {
	first := h.first()
	var out []float64
	for _, w := range s.sky {
		i := int(w.From.Sub(first) / time.Minute)
		for at := first.Add(time.Duration(i) * time.Minute); at.Before(w.To); i, at = i+1, at.Add(time.Minute) {
			for len(out) <= i {
				out = append(out, 0)
			}
			alt, _ := s.track.AltAz(at)
			if alt <= 0 {
				continue
			}
			dimmer := sky.GoodAir.Extinction * (sky.AirMass(alt) - 1)
			brighter := h.moonlight(at, s.apparent, s.track)
			out[i] = math.Pow(10, -0.4*(2*dimmer+brighter))
		}
	}
	return out
}

// tooBright returns when the Moon is up and nearer than the owner wants.
func (h *heavens) tooBright(t sky.Target, e sky.Equatorial) spans {
	if h.options.MoonApart == 0 || h.lit < h.options.MoonLit {
		return nil
	}
	near := sky.Windows(sky.Not(h.moon.Apart(e, h.options.MoonApart+mosaicOf(t))), h.night.Noon, h.night.NextNoon)
	return spans(near).and(h.moonUp)
}

// nearest returns the moment nearest to t.
func nearest(ts []time.Time, t time.Time) time.Time {
	var best time.Time
	for i, x := range ts {
		if i == 0 || x.Sub(t).Abs() < best.Sub(t).Abs() {
			best = x
		}
	}
	return best
}

// highest is the greatest altitude while it is dark, or between sunset and sunrise when it never is: at the transit, or at an end.
func (h *heavens) highest(k sky.Track, transit time.Time) float64 {
	ws := h.dark
	if len(ws) == 0 {
		ws = h.night.Set.Windows
	}
	if len(ws) == 0 {
		ws = spans{{From: h.night.Noon, To: h.night.NextNoon}}
	}
	best := math.Inf(-1)
	look := func(t time.Time) {
		alt, _ := k.AltAz(t)
		best = max(best, alt)
	}
	for _, w := range ws {
		look(w.From)
		look(w.To)
		if !transit.Before(w.From) && !transit.After(w.To) {
			look(transit)
		}
	}
	return best
}

// moonStep is how finely the Moon's distance and light are looked at: it moves by 5′ among the stars meanwhile.
const moonStep = 10 * time.Minute

// moonApart is the least distance from the Moon while the sky has the target, or at midnight.
func (h *heavens) moonApart(up spans, e sky.Equatorial) float64 {
	least := math.Inf(1)
	each(up, func(t time.Time) { least = min(least, sky.Separation(h.moon.At(t), e)) })
	if math.IsInf(least, 1) {
		return sky.Separation(h.moon.At(h.night.Midnight), e)
	}
	return least
}

// moonlight is by how many magnitudes the Moon brightens the sky about a target that is up.
func (h *heavens) moonlight(t time.Time, e sky.Equatorial, k sky.Track) float64 {
	alt, _ := k.AltAz(t)
	m := h.moon.At(t)
	moonAlt, _ := h.night.Site.AltAz(t, m)
	if alt <= 0 || moonAlt <= 0 {
		return 0
	}
	return sky.GoodAir.Moonlight(h.phase, moonAlt, alt, sky.Separation(m, e))
}

// each calls f at the ends of windows and every moonStep inside.
func each(ws []sky.Window, f func(time.Time)) {
	for _, w := range ws {
		for t := w.From; t.Before(w.To); t = t.Add(moonStep) {
			f(t)
		}
		f(w.To)
	}
}
