package web

import (
	"context"
	"math"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"legroom/axes"
	"legroom/rig"
	"legroom/sky"
)

// AltitudeAsk is a question about where the sky's bodies stand through a night. It needs no geometry of the rig but its site.
type AltitudeAsk struct {
	Draft
	Date    string `json:"date,omitempty" format:"date" doc:"the evening's; tonight's when left out"`
	Targets string `json:"targets,omitempty" maxLength:"1048576" doc:"a list of targets, YAML"`
}

// Altitudes is where Sun, Moon and targets stand from noon to noon, degrees. Every list has one value a step.
type Altitudes struct {
	Night    string           `json:"night" doc:"date of the evening at the site"`
	TimeZone string           `json:"time_zone"`
	From     time.Time        `json:"from" doc:"the Sun's upper transit before the night"`
	To       time.Time        `json:"to" doc:"the one after it"`
	StepS    float64          `json:"step_s" doc:"from one value to the next"`
	Sun      []float64        `json:"sun_deg"`
	Moon     []float64        `json:"moon_deg" doc:"seen from the site"`
	Targets  []TargetAltitude `json:"targets"`
}

// TargetAltitude is where one target stands.
type TargetAltitude struct {
	Name      string    `json:"name"`
	Altitude  []float64 `json:"altitude_deg"`
	HourAngle []float64 `json:"hour_angle_h" doc:"-12 to 12"`
	DecDeg    float64   `json:"dec_deg" doc:"apparent declination of date, at midnight"`
}

// altitudeSteps is how many steps a night has: one every five minutes.
const altitudeSteps = 288

func (s *server) altitudeRoutes(api huma.API) {
	huma.Post(api, "/api/altitudes", func(ctx context.Context, in *struct{ Body AltitudeAsk }) (*body[Altitudes], error) {
		a, err := s.altitudes(ctx, in.Body)
		return &body[Altitudes]{a}, s.wrong(err)
	}, named("altitudes", "Where Sun, Moon and targets stand through a night"))
}

func (s *server) altitudes(ctx context.Context, q AltitudeAsk) (Altitudes, error) {
	a := Altitudes{Night: q.Date, Sun: []float64{}, Moon: []float64{}, Targets: []TargetAltitude{}}
	text, err := s.text(q.Draft)
	if err != nil {
		return a, err
	}
	r, err := rig.Parse(text, s.folder.on(rigFile(q.ID)))
	if err != nil {
		return a, err
	}
	site, err := sky.NewSite(r.Site)
	if err != nil {
		return a, err
	}
	if a.Night == "" {
		if a.Night, err = r.Site.Evening(time.Now()); err != nil {
			return a, err
		}
	}
	date, err := time.Parse(time.DateOnly, a.Night)
	if err != nil {
		return a, err
	}
	n, err := sky.NightOf(site, date.Year(), date.Month(), date.Day())
	if err != nil {
		return a, err
	}
	var list []sky.Target
	if q.Targets != "" {
		if list, err = sky.ParseTargets([]byte(q.Targets), s.folder.on(targetsFile(q.ID))); err != nil {
			return a, err
		}
	}
	tracks := make([]sky.Track, len(list))
	for i, t := range list {
		e := t.Place.Apparent(n.Midnight)
		tracks[i] = site.Track(n.Midnight, e)
		a.Targets = append(a.Targets, TargetAltitude{Name: t.Name, DecDeg: axes.Deg(e.Dec)})
	}
	step := n.NextNoon.Sub(n.Noon) / altitudeSteps
	a.TimeZone, a.From, a.To, a.StepS = r.Site.TimeZone, n.Noon, n.NextNoon, step.Seconds()
	moon := site.MoonPath(n.Noon, n.NextNoon)
	deg := func(x float64) float64 { return math.Round(axes.Deg(x)*1000) / 1000 }
	for i := range altitudeSteps + 1 {
		if ctx.Err() != nil {
			return a, ctx.Err()
		}
		at := n.Noon.Add(time.Duration(i) * step)
		up, _ := site.AltAz(at, moon.At(at))
		a.Sun, a.Moon = append(a.Sun, deg(site.SunAltitude(at))), append(a.Moon, deg(up))
		for k := range tracks {
			t := &a.Targets[k]
			alt, _ := tracks[k].AltAz(at)
			t.Altitude = append(t.Altitude, deg(alt))
			t.HourAngle = append(t.HourAngle, math.Round(axes.Deg(tracks[k].HourAngle(at))/axes.DegPerHour*1e5)/1e5)
		}
	}
	return a, nil
}
