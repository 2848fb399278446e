package report

import (
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/night"
	"legroom/room"
)

// SeasonDoc is the document of `legroom season`.
type SeasonDoc struct {
	Rig string `json:"rig"`
	Basis
	Confirmed    bool           `json:"confirmed" jsonschema_description:"always false: a set-up is confirmed for one night, not for a season"`
	TimeZone     string         `json:"time_zone"`
	From         string         `json:"from" jsonschema_description:"first month, year-month"`
	To           string         `json:"to" jsonschema_description:"last month"`
	DarkBelow    float64        `json:"dark_below_deg" jsonschema_description:"altitude of the Sun's centre below which exposures are taken"`
	LeastAlt     float64        `json:"least_altitude_deg" jsonschema_description:"of a target, besides the site's horizon"`
	MoonApart    float64        `json:"moon_apart_deg" jsonschema_description:"least distance of a target from the Moon while it is up; 0: the Moon does not matter"`
	MoonLit      float64        `json:"moon_lit" jsonschema_description:"a Moon that is lit less than this share, 0 to 1, does not matter"`
	LeastMin     float64        `json:"least_night_min" jsonschema_description:"a night is usable with at least so much time, minutes"`
	WestDeg      float64        `json:"west_deg" jsonschema_description:"two-number limit for the declinations of these targets alone, not the pair to leave in the mount (legroom limits gives that): RA axis from counterweight-down, rounded down to the mount's entry step"`
	EastDeg      float64        `json:"east_deg"`
	EitherUnsure bool           `json:"either_side" jsonschema_description:"the document leaves open which side the mount takes: only what is free on both sides counts"`
	Months       []MonthDoc     `json:"months"`
	Targets      []SeasonTarget `json:"targets"`
	Total        SeasonSum      `json:"total" jsonschema_description:"over all targets: hours of one target each, that one rig cannot have at once"`
}

// MonthDoc is the nights whose evenings lie in a month.
type MonthDoc struct {
	Month  string  `json:"month" jsonschema_description:"year-month, of the evenings"`
	Nights int     `json:"nights"`
	DarkH  float64 `json:"dark_h"`
}

// SeasonTarget is one target through the season.
type SeasonTarget struct {
	Name       string  `json:"name"`
	RADeg      float64 `json:"ra_deg" jsonschema_description:"J2000"`
	DecDeg     float64 `json:"dec_deg" jsonschema_description:"J2000"`
	DecFromDeg float64 `json:"dec_from_deg" jsonschema_description:"the band of apparent declination that the limits hold for"`
	DecToDeg   float64 `json:"dec_to_deg"`
	Rises      bool    `json:"rises"`
	BestMonth  *string `json:"best_month" jsonschema:"nullable" jsonschema_description:"with the most hours within limits by declination; null when it has none"`
	SeasonSum
}

// SeasonSum is the hours of each month and of the season.
type SeasonSum struct {
	ByMonth []HoursDoc `json:"by_month" jsonschema_description:"in the order of months"`
	All     HoursDoc   `json:"all"`
}

// HoursDoc is what some nights give.
type HoursDoc struct {
	SkyH   float64    `json:"sky_h" jsonschema_description:"without the rig's limits: dark, above horizon and least altitude, the Moon far enough"`
	Nights int        `json:"sky_nights" jsonschema_description:"nights with at least least_night_min of that"`
	By     LimitedDoc `json:"by_declination" jsonschema_description:"with the limits of each declination"`
	Two    LimitedDoc `json:"two_number" jsonschema_description:"with west_deg and east_deg as well"`
}

// LimitedDoc is what limits leave: sky_h = hours + no_way_h + flip_h + idle_h + no_room_h.
type LimitedDoc struct {
	Hours       float64  `json:"hours" jsonschema_description:"free on some side from the first proven slew there from the park position on, less what changing sides takes, every change a proven one; rounded down"`
	UsableH     float64  `json:"usable_h" jsonschema_description:"proven free on some side: hours + no_way_h + flip_h"`
	NoWayH      float64  `json:"no_way_h" jsonschema_description:"free, but lost for want of a proven slew there from the park position"`
	FlipH       float64  `json:"flip_h" jsonschema_description:"free, but lost to changing sides, or for want of a proven way to change"`
	IdleH       float64  `json:"idle_h" jsonschema_description:"free on no side, between the stop on side west and the resume on side east"`
	NoRoomH     float64  `json:"no_room_h" jsonschema_description:"free on no side, at another time"`
	CostH       float64  `json:"cost_h" jsonschema_description:"what the rig costs: sky_h less hours"`
	CostPercent *float64 `json:"cost_percent" jsonschema:"nullable" jsonschema_description:"of sky_h; null when that is 0"`
	Nights      int      `json:"nights" jsonschema_description:"nights with at least least_night_min of hours"`
}

// Season returns the document of a season with a rig's limits.
func Season(g *room.Gauge, s *night.Season) SeasonDoc {
	o := s.Options
	d := SeasonDoc{
		Rig: g.Model.Rig.Name, Basis: BasisOf(g, g.MaxAllowance()), TimeZone: g.Model.Rig.Site.TimeZone,
		DarkBelow: nearest(axes.Deg(o.SunAltitude)), LeastAlt: nearest(axes.Deg(o.MinAltitude)), MoonApart: nearest(axes.Deg(o.MoonApart)), MoonLit: o.MoonLit,
		LeastMin: o.MinBlock.Minutes(), WestDeg: nearest(axes.Deg(s.West)), EastDeg: nearest(axes.Deg(s.East)), EitherUnsure: s.Either,
		Months: []MonthDoc{}, Targets: []SeasonTarget{}, Total: seasonSum(&s.Total),
	}
	for _, k := range s.Months {
		d.Months = append(d.Months, MonthDoc{Month: yearMonth(k), Nights: k.Nights, DarkH: hoursOf(k.Dark)})
	}
	d.From, d.To = d.Months[0].Month, d.Months[len(d.Months)-1].Month
	for i := range s.Targets {
		t := &s.Targets[i]
		x := SeasonTarget{
			Name: t.Name, RADeg: nearest(axes.Deg(t.Place.RA)), DecDeg: nearest(axes.Deg(t.Place.Dec)), DecFromDeg: down(axes.Deg(t.DecFrom)), DecToDeg: up(axes.Deg(t.DecTo)),
			Rises: t.Rises, SeasonSum: seasonSum(t),
		}
		if t.Best >= 0 {
			x.BestMonth = &d.Months[t.Best].Month
		}
		d.Targets = append(d.Targets, x)
	}
	return d
}

func yearMonth(m night.Month) string { return fmt.Sprintf("%04d-%02d", m.Year, int(m.Month)) }

func seasonSum(t *night.SeasonTarget) SeasonSum {
	s := SeasonSum{ByMonth: []HoursDoc{}, All: hoursDoc(t.All)}
	for _, h := range t.Months {
		s.ByMonth = append(s.ByMonth, hoursDoc(h))
	}
	return s
}

func hoursDoc(h night.Hours) HoursDoc {
	return HoursDoc{SkyH: hoursOf(h.Sky), Nights: h.Nights, By: limitedDoc(h.By, h.Sky), Two: limitedDoc(h.Two, h.Sky)}
}

// limitedDoc rounds what is left down, and what it costs so that they still add up.
func limitedDoc(l night.Limited, sky time.Duration) LimitedDoc {
	d := LimitedDoc{
		Hours: down(l.Hours.Hours()), UsableH: down(l.Usable().Hours()), NoWayH: hoursOf(l.NoWay), FlipH: hoursOf(l.Flip), IdleH: hoursOf(l.Idle), NoRoomH: hoursOf(l.NoRoom),
		CostH: hoursOf(sky - l.Hours), Nights: l.Nights,
	}
	if sky > 0 {
		p := math.Round(float64(sky-l.Hours)/float64(sky)*1e6) / 1e4
		d.CostPercent = &p
	}
	return d
}

// hoursOf writes a length of time in hours, to a millionth.
func hoursOf(d time.Duration) float64 { return nearest(d.Hours()) }
