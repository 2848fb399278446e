package report

import (
	"math"
	"time"

	"legroom/axes"
	"legroom/night"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// TargetDoc is the document of `legroom target`.
type TargetDoc struct {
	Rig string `json:"rig"`
	Basis
	TimeZone    string        `json:"time_zone"`
	Name        string        `json:"name"`
	Object      *ObjectDoc    `json:"object" jsonschema:"nullable" jsonschema_description:"the row of the built-in list that gave the place"`
	RADeg       float64       `json:"ra_deg" jsonschema_description:"J2000"`
	DecDeg      float64       `json:"dec_deg" jsonschema_description:"J2000"`
	ApparentRA  float64       `json:"apparent_ra_deg" jsonschema_description:"of date, at midnight of the first night"`
	ApparentDec float64       `json:"apparent_dec_deg"`
	Rises       bool          `json:"rises" jsonschema_description:"above the horizon at some time of the day"`
	Limits      *RowDoc       `json:"limits" jsonschema:"nullable" jsonschema_description:"by hour angle, whatever the night: the worst over its apparent declination and what it may be off by; null when it never rises"`
	StopParts   []string      `json:"stop_parts" jsonschema_description:"the two parts with no more room at the stop; empty when it is not room that stops it"`
	ResumeParts []string      `json:"resume_parts"`
	Room        ShareDoc      `json:"room_percent" jsonschema_description:"free part of the time that it is above the horizon, on each side and on either"`
	Advice      AdviceDoc     `json:"advice"`
	Kept        LimitMode     `json:"limits_kept" jsonschema:"enum=declination,enum=two-number" jsonschema_description:"what the nights are planned by"`
	Nights      []TargetNight `json:"nights"`
	Notes       []string      `json:"notes"`
}

// TargetNight is one night of one target.
type TargetNight struct {
	Night       string     `json:"night" jsonschema_description:"date of the evening"`
	Confirmed   bool       `json:"confirmed"`
	Unconfirmed string     `json:"unconfirmed"`
	DarkFrom    *time.Time `json:"dark_from" jsonschema:"nullable"`
	DarkTo      *time.Time `json:"dark_to" jsonschema:"nullable"`
	Dark        string     `json:"dark" jsonschema:"enum=from_dusk_to_dawn,enum=never,enum=from_noon_to_noon"`
	MoonLit     float64    `json:"moon_lit"`
	Target      TargetPlan `json:"target"`
}

// ObjectDoc is one object of the built-in list.
type ObjectDoc struct {
	Designation   string     `json:"designation"`
	Also          []string   `json:"also"`
	Names         []string   `json:"names"`
	Kind          string     `json:"kind"`
	Constellation string     `json:"constellation"`
	RADeg         float64    `json:"ra_deg" jsonschema_description:"J2000"`
	DecDeg        float64    `json:"dec_deg" jsonschema_description:"J2000"`
	SizeArcmin    [2]float64 `json:"size_arcmin" jsonschema_description:"longest and shortest diameter"`
	FromMemory    bool       `json:"from_memory" jsonschema_description:"place and size were written from memory, not copied from a catalogue"`
}

// ObjectsDoc is the document of `legroom target --search`.
type ObjectsDoc struct {
	Search  string      `json:"search"`
	Objects []ObjectDoc `json:"objects"`
}

// Objects returns the document of a search.
func Objects(search string, found []sky.Object) ObjectsDoc {
	d := ObjectsDoc{Search: search, Objects: []ObjectDoc{}}
	for _, o := range found {
		d.Objects = append(d.Objects, objectDoc(o))
	}
	return d
}

func objectDoc(o sky.Object) ObjectDoc {
	return ObjectDoc{Designation: o.Designation, Also: append([]string{}, o.Also...), Names: append([]string{}, o.Names...), Kind: o.Kind, Constellation: o.Constellation,
		RADeg: nearest(axes.Deg(o.Place.RA)), DecDeg: nearest(axes.Deg(o.Place.Dec)), SizeArcmin: o.SizeArcmin, FromMemory: o.FromMemory}
}

// PlannedNight is a night of one target, with either kind of limits.
type PlannedNight struct {
	Plan, Other *night.Plan
	Setup       rig.Setup
}

// Target returns the document of one target on one night or several, one at least, each planned for it alone.
func Target(m *room.Map, nights []PlannedNight) TargetDoc {
	g := m.Gauge()
	p := nights[0].Plan
	t := &p.Targets[0]
	first := targetPlan(m, p, nights[0].Other, 0)
	d := TargetDoc{
		Rig: g.Model.Rig.Name, Basis: BasisOf(g, g.MaxAllowance()), TimeZone: g.Model.Rig.Site.TimeZone,
		Name: t.Name, RADeg: first.RADeg, DecDeg: first.DecDeg, ApparentRA: first.ApparentRA, ApparentDec: first.ApparentDec,
		Rises: t.Rises, StopParts: first.StopParts, ResumeParts: first.ResumeParts, Room: roomOf(p, t), Advice: first.Advice, Kept: modeOf(p), Notes: first.Notes,
	}
	if t.Object != nil {
		o := objectDoc(*t.Object)
		d.Object = &o
	}
	if t.Rises {
		row := rowDoc(&t.Row)
		d.Limits = &row
	}
	for _, n := range nights {
		whole := Night(m, n.Plan, n.Other, n.Setup)
		d.Nights = append(d.Nights, TargetNight{Night: whole.Night, Confirmed: whole.Confirmed, Unconfirmed: whole.Unconfirmed, DarkFrom: whole.DarkFrom, DarkTo: whole.DarkTo,
			Dark: whole.Dark, MoonLit: whole.Moon.Lit, Target: whole.Targets[0]})
	}
	return d
}

// roomOf is the free part of the time from noon to noon that a target stands above the horizon, rounded down.
func roomOf(p *night.Plan, t *night.Target) ShareDoc {
	n := &p.Night
	up := sky.Windows(n.Site.Track(n.Midnight, t.Apparent).AboveHorizon(), n.Noon, n.NextNoon)
	of := func(sides ...axes.Side) float64 {
		var all, free time.Duration
		for _, w := range up {
			all += w.Length()
			// Side by side the runs may overlap: count each moment once.
			at := w.From
			for at.Before(w.To) {
				next, in := w.To, false
				for _, r := range t.Runs {
					if len(sides) == 1 && r.Side != sides[0] {
						continue
					}
					switch {
					case r.From.After(at):
						next = earliest(next, r.From)
					case r.To.After(at):
						in = true
						next = earliest(next, r.To)
					}
				}
				if in {
					free += next.Sub(at)
				}
				at = next
			}
		}
		if all == 0 {
			return 0
		}
		return math.Floor(float64(free)/float64(all)*1e6) / 1e4
	}
	return ShareDoc{West: of(axes.West), East: of(axes.East), Either: of(axes.West, axes.East)}
}
