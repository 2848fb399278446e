package web

import (
	"bytes"
	"context"
	"math"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"legroom/axes"
	"legroom/night"
	"legroom/report"
	"legroom/sky"
)

// NightAsk is a question about a night, for the owner's targets.
type NightAsk struct {
	Ask
	Page             string   `json:"page,omitempty" maxLength:"100" doc:"names the page: a newer plan for the same page ends this one"`
	Date             string   `json:"date,omitempty" format:"date" doc:"the evening's; tonight's when left out"`
	Targets          *string  `json:"targets,omitempty" doc:"a list of targets, YAML; left out: the rig's own as it stands on disk"`
	SubS             float64  `json:"sub_s,omitempty" minimum:"1" maximum:"21600" default:"300" doc:"length of a sub-exposure, for targets that do not say"`
	DownloadS        float64  `json:"download_s,omitempty" minimum:"0" maximum:"3600" doc:"from a sub-exposure's end until its picture is in"`
	DitherS          float64  `json:"dither_s,omitempty" minimum:"0" maximum:"3600" doc:"from then until the next one's start"`
	LeastBlockMin    float64  `json:"least_block_min,omitempty" minimum:"1" maximum:"1440" default:"20" doc:"least time on one target and side in the schedule"`
	LeastAltitudeDeg float64  `json:"least_altitude_deg,omitempty" minimum:"0" maximum:"90" doc:"besides the site's horizon"`
	SunBelowDeg      *float64 `json:"sun_below_deg,omitempty" exclusiveMaximum:"0" minimum:"-90" doc:"exposures are taken while the Sun is below this altitude; the end of astronomical twilight, -18, when left out"`
	MoonApartDeg     float64  `json:"moon_apart_deg,omitempty" minimum:"0" maximum:"180" doc:"least distance of a target from the Moon while it is up"`
	MoonLit          float64  `json:"moon_lit,omitempty" minimum:"0" maximum:"1" doc:"a Moon that is lit less does not matter to moon_apart_deg"`
	Limits           string   `json:"limits,omitempty" enum:"declination,two-number" default:"declination" doc:"plan by the limits of each declination, or by the pair that the mount enforces"`
}

type nightFileIn struct {
	Kind string `path:"kind" enum:"plan.pdf,plan.svg,plan.png,calendar.ics,schedule.csv,targets.csv"`
	Body NightAsk
}

func (s *server) nightRoutes(api huma.API) {
	huma.Post(api, "/api/night", func(ctx context.Context, in *struct{ Body NightAsk }) (*body[report.NightDoc], error) {
		_, doc, err := s.night(ctx, in.Body)
		return &body[report.NightDoc]{doc}, s.wrong(err)
	}, named("night", "The plan of a night, as the command gives it", http.StatusConflict))
	huma.Post(api, "/api/night/{kind}", func(ctx context.Context, in *nightFileIn) (*exportOut, error) {
		plan, doc, err := s.night(ctx, in.Body)
		if err != nil {
			return nil, s.wrong(err)
		}
		var b bytes.Buffer
		name, ending, _ := strings.Cut(in.Kind, ".")
		if err := report.WriteNightAs(&b, ending, name, plan, doc, time.Now()); err != nil {
			return nil, s.wrong(err)
		}
		return file(in.Body.ID, doc.Night+"-"+in.Kind, b.Bytes()), nil
	}, named("exportNight", "A night to keep: the bytes that the command writes", http.StatusConflict), files)
}

// night plans a night with both kinds of limits.
func (s *server) night(ctx context.Context, q NightAsk) (*night.Plan, report.NightDoc, error) {
	fail := func(err error) (*night.Plan, report.NightDoc, error) {
		if cause := context.Cause(ctx); err != nil && cause == errSuperseded {
			err = huma.Error409Conflict(cause.Error())
		}
		return nil, report.NightDoc{}, err
	}
	if q.Page != "" {
		var end func()
		ctx, end = s.begin(ctx, "night of "+q.Page)
		defer end()
	}
	w, err := s.work(q.Ask)
	if err != nil {
		return fail(err)
	}
	targets, err := s.nightTargets(q)
	if err != nil {
		return fail(err)
	}
	r, now := w.gauge.Model.Rig, time.Now()
	site, err := sky.NewSite(r.Site)
	if err != nil {
		return fail(err)
	}
	evening := q.Date
	if evening == "" {
		if evening, err = r.Site.Evening(now); err != nil {
			return fail(err)
		}
	}
	date, err := time.Parse(time.DateOnly, evening)
	if err != nil {
		return fail(err)
	}
	m, err := w.fineMap(ctx)
	if err != nil {
		return fail(err)
	}
	plan, other, err := night.Both(ctx, m, site, date, targets, q.options())
	if err != nil {
		return fail(err)
	}
	return plan, report.Night(m, plan, other, r.SetupFor(evening, w.gauge.Model.Assembly.Without, now)), nil
}

// options turns what was asked for into what package night takes.
func (q NightAsk) options() night.Options {
	seconds := func(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
	o := night.Options{MinAltitude: axes.Rad(q.LeastAltitudeDeg), MoonApart: axes.Rad(q.MoonApartDeg), MoonLit: q.MoonLit, Sub: seconds(q.SubS), Download: seconds(q.DownloadS),
		Dither: seconds(q.DitherS), MinBlock: time.Duration(math.Ceil(q.LeastBlockMin * float64(time.Minute))), TwoNumber: q.Limits == string(report.ByTwoNumber)}
	if q.SunBelowDeg != nil {
		o.SunAltitude = axes.Rad(*q.SunBelowDeg)
	}
	return o
}

// nightTargets gives the targets of a question, or those of the rig.
func (s *server) nightTargets(q NightAsk) ([]sky.Target, error) {
	name := targetsFile(q.ID)
	if q.Targets != nil {
		return sky.ParseTargets([]byte(*q.Targets), s.folder.on(name))
	}
	list, err := s.targets(q.ID)
	if err != nil {
		return nil, err
	}
	if list.Version == "" {
		return nil, huma.Error422UnprocessableEntity("there are no targets yet: add one at least")
	}
	return sky.ParseTargets([]byte(list.Text), s.folder.on(name))
}
