package report

import (
	"time"

	"legroom/axes"
	"legroom/night"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// Times is [from, to], whole seconds.
type Times [2]time.Time

// LimitMode says which limits a plan keeps to.
type LimitMode string

const (
	ByDeclination LimitMode = "declination" // each target's own stop and start
	ByTwoNumber   LimitMode = "two-number"  // the one pair of RA axis limits that the mount enforces, besides
)

// NightDoc is the document of `legroom night`.
type NightDoc struct {
	Rig string `json:"rig"`
	Basis
	Night       string       `json:"night" jsonschema_description:"date of the evening at the site"`
	Confirmed   bool         `json:"confirmed" jsonschema_description:"whether the owner has confirmed the set-up list for that night; until then this is planned only"`
	Unconfirmed string       `json:"unconfirmed" jsonschema_description:"why it is not confirmed; empty when it is"`
	TimeZone    string       `json:"time_zone"`
	Sunset      *time.Time   `json:"sunset" jsonschema:"nullable"`
	DarkFrom    *time.Time   `json:"dark_from" jsonschema:"nullable" jsonschema_description:"the Sun goes below dark_below_deg; null when it does not"`
	DarkTo      *time.Time   `json:"dark_to" jsonschema:"nullable"`
	Sunrise     *time.Time   `json:"sunrise" jsonschema:"nullable"`
	Sun         string       `json:"sun" jsonschema:"enum=sets,enum=never_sets,enum=never_rises" jsonschema_description:"never_sets: polar day; never_rises: polar night"`
	Dark        string       `json:"dark" jsonschema:"enum=from_dusk_to_dawn,enum=never,enum=from_noon_to_noon" jsonschema_description:"whether it gets dark"`
	DarkBelow   float64      `json:"dark_below_deg" jsonschema_description:"altitude of the Sun's centre below which exposures are taken"`
	LeastAlt    float64      `json:"least_altitude_deg" jsonschema_description:"of the targets, besides the site's horizon"`
	SubS        float64      `json:"sub_s" jsonschema_description:"length of a sub-exposure of a target that does not say"`
	Twilight    []DuskDoc    `json:"twilight" jsonschema_description:"civil, nautical and astronomical, in this order"`
	Moon        MoonDoc      `json:"moon"`
	Limits      LimitsKept   `json:"limits" jsonschema_description:"what the plan keeps to"`
	Targets     []TargetPlan `json:"targets" jsonschema_description:"what each target can have on its own"`
	Schedule    []BlockDoc   `json:"schedule" jsonschema_description:"one night for all of them"`
	SubCount    int          `json:"sub_count" jsonschema_description:"of the schedule"`
	Park        *MoveDoc     `json:"park" jsonschema:"nullable" jsonschema_description:"the proven slew to the park position after the last block"`
	Worth       WorthDoc     `json:"worth"`
	Pair        AdviceDoc    `json:"pair" jsonschema_description:"one pair of minutes that is safe for every target of the night"`
	OtherLimits OtherLimits  `json:"other_limits" jsonschema_description:"the same night with the other limits"`
	Notes       []string     `json:"notes"`
	UTC         SunUTC       `json:"utc"`
}

// DuskDoc is one part of twilight.
type DuskDoc struct {
	Name   string     `json:"name" jsonschema:"enum=civil,enum=nautical,enum=astronomical"`
	SunDeg float64    `json:"sun_deg" jsonschema_description:"altitude of the Sun's centre at its dark end"`
	Dusk   *time.Time `json:"dusk" jsonschema:"nullable" jsonschema_description:"the Sun goes below it"`
	Dawn   *time.Time `json:"dawn" jsonschema:"nullable" jsonschema_description:"the Sun comes above it"`
}

// MoonDoc is what the Moon does.
type MoonDoc struct {
	Lit  float64    `json:"lit" jsonschema_description:"share of the disk at midnight, 0 to 1"`
	Rise *time.Time `json:"rise" jsonschema:"nullable"`
	Set  *time.Time `json:"set" jsonschema:"nullable"`
	Up   []Times    `json:"up" jsonschema_description:"from noon to noon"`
}

// LimitsKept is the limits that a plan keeps to. The pair is the two-number limit for the night's targets, whether it is kept to or not.
type LimitsKept struct {
	Mode    LimitMode `json:"mode" jsonschema:"enum=declination,enum=two-number"`
	WestDeg float64   `json:"west_deg" jsonschema_description:"two-number limit for the declinations of the night's targets, RA axis from counterweight-down, rounded down to the mount's entry step"`
	EastDeg float64   `json:"east_deg"`
}

// OtherLimits is what becomes of the schedule with the other limits.
type OtherLimits struct {
	Mode     LimitMode `json:"mode" jsonschema:"enum=declination,enum=two-number"`
	SubCount int       `json:"sub_count" jsonschema_description:"of its schedule"`
	Worth    WorthDoc  `json:"worth"`
	Pair     AdviceDoc `json:"pair"`
}

// WorthDoc is how good a schedule is.
type WorthDoc struct {
	Min   float64 `json:"min" jsonschema_description:"minutes of the first priority under the best sky that the schedule is worth"`
	Bound float64 `json:"bound_min" jsonschema_description:"what no schedule of the same whole minutes can exceed"`
	Exact bool    `json:"exact" jsonschema_description:"none is better"`
}

// BlockDoc is a stretch of exposures of one target on one side.
type BlockDoc struct {
	Target   string    `json:"target"`
	Side     string    `json:"side" jsonschema:"enum=west,enum=east"`
	Either   bool      `json:"either" jsonschema_description:"the document leaves open which side the mount takes: both are proven"`
	From     time.Time `json:"from"`
	To       time.Time `json:"to"`
	SubCount int       `json:"sub_count"`
	SubS     float64   `json:"sub_s" jsonschema_description:"length of a sub-exposure"`
	Come     MoveDoc   `json:"come" jsonschema_description:"how the mount gets there"`
	Why      string    `json:"why"`
	UTC      Times     `json:"utc" jsonschema_description:"from and to"`
}

// MoveDoc is a slew of the plan, proven for every start up to a minute later.
type MoveDoc struct {
	Begin     time.Time    `json:"begin"`
	End       time.Time    `json:"end" jsonschema_description:"at the slowest, settled"`
	Flip      bool         `json:"flip" jsonschema_description:"changes sides on one target"`
	From      string       `json:"from" jsonschema_description:"park, home or counterweight-down when the mount comes from there, else empty"`
	Via       string       `json:"via" jsonschema_description:"park or home when it goes by way of there, else empty"`
	To        string       `json:"to" jsonschema_description:"park when it ends there, else empty"`
	Waypoints [][2]float64 `json:"waypoints_deg" jsonschema_description:"RA and declination axis angles from start to end"`
}

// AdviceDoc is what an owner enters: whole minutes by the clock from the meridian, rounded to the safe side.
type AdviceDoc struct {
	Kind         night.AdviceKind `json:"kind" jsonschema:"enum=flip,enum=no_flip_needed,enum=no_flip_proven,enum=west_only,enum=east_only,enum=nothing" jsonschema_description:"flip: from side west to side east; no_flip_needed: one side holds it until it is too low; no_flip_proven: both sides have room, and no way across is proven; west_only and east_only: the other side has no room; nothing: no minute is safe, text says why"`
	StopMin      *int             `json:"stop_min" jsonschema:"nullable" jsonschema_description:"tracking on side west ends here at the latest; null: nothing stops it, or kind says that there is none"`
	FlipFromMin  *int             `json:"flip_from_min" jsonschema:"nullable" jsonschema_description:"the flip, or the first slew, to side east begins here at the earliest; null: there is none, as kind says"`
	FlipUntilMin *int             `json:"flip_until_min" jsonschema:"nullable" jsonschema_description:"the flip has begun by then; null: it begins after the stop, tracking off"`
	Text         string           `json:"text"`
}

// SunUTC repeats the Sun's times in UTC.
type SunUTC struct {
	Sunset   *time.Time `json:"sunset" jsonschema:"nullable"`
	DarkFrom *time.Time `json:"dark_from" jsonschema:"nullable"`
	DarkTo   *time.Time `json:"dark_to" jsonschema:"nullable"`
	Sunrise  *time.Time `json:"sunrise" jsonschema:"nullable"`
}

// Night returns the document of a night: p is the plan that was asked for, and other the same night with the other limits. The map is
// that of the whole rig.
func Night(m *room.Map, p, other *night.Plan, setup rig.Setup) NightDoc {
	g := m.Gauge()
	n := &p.Night
	d := NightDoc{
		Rig: g.Model.Rig.Name, Basis: BasisOf(g, g.MaxAllowance()),
		Night: setup.Night, Confirmed: setup.Confirmed, Unconfirmed: setup.Reason, TimeZone: g.Model.Rig.Site.TimeZone,
		Sunset: moment(n.Set.Begin), Sunrise: moment(n.Set.End),
		Sun:  map[sky.Course]string{sky.Crosses: "sets", sky.NeverBelow: "never_sets", sky.AlwaysBelow: "never_rises"}[n.Set.Course],
		Dark: darkWord(p), DarkBelow: nearest(axes.Deg(p.Options.SunAltitude)),
		LeastAlt: nearest(axes.Deg(p.Options.MinAltitude)), SubS: p.Options.Sub.Seconds(),
		Moon:        MoonDoc{Lit: nearest(p.Moon.Lit), Rise: moment(p.Moon.Rise), Set: moment(p.Moon.Set), Up: around(p.Moon.Up)},
		Limits:      LimitsKept{Mode: modeOf(p)},
		Targets:     []TargetPlan{},
		Schedule:    blockDocs(p, p.Schedule.Blocks),
		SubCount:    subsOf(p.Schedule.Blocks),
		Worth:       worthOf(p),
		Pair:        adviceDoc(p.Pair),
		OtherLimits: OtherLimits{Mode: modeOf(other), SubCount: subsOf(other.Schedule.Blocks), Worth: worthOf(other), Pair: adviceDoc(other.Pair)},
		Notes:       append([]string{}, p.Notes...),
	}
	if ws := p.Dark; len(ws) > 0 {
		if first := ws[0].From; first.After(n.Noon) {
			d.DarkFrom = secondUp(first)
		}
		if last := ws[len(ws)-1].To; last.Before(n.NextNoon) {
			d.DarkTo = secondDown(last)
		}
	}
	for _, t := range []struct {
		name string
		low  *sky.Low
	}{{"civil", &n.Civil}, {"nautical", &n.Nautical}, {"astronomical", &n.Dark}} {
		d.Twilight = append(d.Twilight, DuskDoc{t.name, nearest(axes.Deg(t.low.Altitude)), moment(t.low.Begin), moment(t.low.End)})
	}
	two := p
	if !p.Options.TwoNumber {
		two = other
	}
	d.Limits.WestDeg, d.Limits.EastDeg = nearest(axes.Deg(two.West)), nearest(axes.Deg(two.East))
	d.UTC = SunUTC{inUTC(d.Sunset), inUTC(d.DarkFrom), inUTC(d.DarkTo), inUTC(d.Sunrise)}
	if p.Schedule.Park != nil {
		park := moveDoc(p.Schedule.Park)
		d.Park = &park
	}
	for i := range p.Targets {
		d.Targets = append(d.Targets, targetPlan(m, p, other, i))
	}
	return d
}

func modeOf(p *night.Plan) LimitMode {
	if p.Options.TwoNumber {
		return ByTwoNumber
	}
	return ByDeclination
}

func darkWord(p *night.Plan) string {
	switch ws := p.Dark; {
	case len(ws) == 0:
		return "never"
	case len(ws) == 1 && ws[0].From.Equal(p.Night.Noon) && ws[0].To.Equal(p.Night.NextNoon):
		return "from_noon_to_noon"
	}
	return "from_dusk_to_dawn"
}

func worthOf(p *night.Plan) WorthDoc {
	return WorthDoc{Min: down(p.Schedule.Worth), Bound: up(p.Schedule.Bound), Exact: p.Schedule.Exact}
}

func subsOf(blocks []night.Block) int {
	n := 0
	for _, b := range blocks {
		n += b.Subs
	}
	return n
}

func blockDocs(p *night.Plan, blocks []night.Block) []BlockDoc {
	out := []BlockDoc{}
	for i := range blocks {
		b := &blocks[i]
		t := &p.Targets[b.Target].Target
		w := Times{*secondUp(b.From), *secondDown(b.To)}
		out = append(out, BlockDoc{Target: t.Name, Side: b.Side.String(), Either: b.Either, From: w[0], To: w[1], SubCount: b.Subs,
			SubS: p.Options.SubOf(*t).Seconds(), Come: moveDoc(&b.Come), Why: b.Why, UTC: Times{w[0].UTC(), w[1].UTC()}})
	}
	return out
}

// moveDoc rounds a slew outwards. It is proven for every start within a minute, so that a second does not matter.
func moveDoc(m *night.Move) MoveDoc {
	d := MoveDoc{Begin: *secondDown(m.Begin), End: *secondUp(m.End), Flip: m.Flip, From: m.From, Via: m.Via, To: m.To, Waypoints: [][2]float64{}}
	for _, a := range m.Path {
		d.Waypoints = append(d.Waypoints, [2]float64{nearest(axes.Deg(a.RA)), nearest(axes.Deg(a.Dec))})
	}
	return d
}

func adviceDoc(a night.Advice) AdviceDoc {
	return AdviceDoc{Kind: a.Kind, StopMin: a.Stop, FlipFromMin: a.Flip, FlipUntilMin: a.Late, Text: a.Text}
}
