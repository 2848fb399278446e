package report

import (
	"time"

	"legroom/axes"
	"legroom/night"
	"legroom/room"
	"legroom/sky"
)

// TargetPlan is what a night has for one target, as if the whole of it were for that target.
type TargetPlan struct {
	Name        string  `json:"name"`
	RADeg       float64 `json:"ra_deg" jsonschema_description:"J2000"`
	DecDeg      float64 `json:"dec_deg" jsonschema_description:"J2000"`
	ApparentRA  float64 `json:"apparent_ra_deg" jsonschema_description:"of date, at midnight"`
	ApparentDec float64 `json:"apparent_dec_deg"`
	Priority    int     `json:"priority" jsonschema_description:"1 is the first; 0: none given"`
	SubS        float64 `json:"sub_s" jsonschema_description:"length of a sub-exposure"`
	WantedH     float64 `json:"wanted_h" jsonschema_description:"total exposure wanted; 0: none given"`

	Transit      *time.Time  `json:"transit" jsonschema:"nullable"`
	Usable       []Times     `json:"usable" jsonschema_description:"dark, above the horizon and the least altitude, far enough from the Moon, and free on a side; rounded inwards"`
	UsableWest   []Times     `json:"usable_west" jsonschema_description:"of that, on side west"`
	UsableEast   []Times     `json:"usable_east"`
	Stop         *time.Time  `json:"stop" jsonschema:"nullable" jsonschema_description:"the room of side west ends; the advice and the blocks end a minute or more before; null when nothing stops it while the sky has the target tonight"`
	StopReason   room.Reason `json:"stop_reason" jsonschema:"enum=room,enum=travel,enum=horizon,enum=never_ends,enum=never_usable"`
	StopParts    []string    `json:"stop_parts" jsonschema_description:"the two parts with no more room at the stop; empty when it is not room that stops it"`
	Resume       *time.Time  `json:"resume" jsonschema:"nullable" jsonschema_description:"a run on side east may start at the earliest; null as stop"`
	ResumeReason room.Reason `json:"resume_reason" jsonschema:"enum=room,enum=travel,enum=horizon,enum=never_ends,enum=never_usable"`
	ResumeParts  []string    `json:"resume_parts"`
	Flip         *FlipDoc    `json:"flip" jsonschema:"nullable" jsonschema_description:"the longest of the flip windows: start times of a flip that are proven; null when there is none tonight"`
	FlipWindows  []Times     `json:"flip_windows"`
	IdleMin      float64     `json:"idle_min" jsonschema_description:"minutes between stop and resume tonight when no flip window exists"`
	SubCount     int         `json:"sub_count" jsonschema_description:"sub-exposures that fit, none of them cut, with the flip where it pays"`
	LastStart    *time.Time  `json:"last_start" jsonschema:"nullable" jsonschema_description:"the latest start of a sub-exposure that ends by the advice's stop"`
	FirstSide    *string     `json:"first_side" jsonschema:"nullable,enum=west,enum=east" jsonschema_description:"of the first block; null when nothing fits"`
	LostMin      float64     `json:"lost_min" jsonschema_description:"minutes that room and flip cost: no_room_min + idle_min + flip_min of lost"`
	Lost         LostDoc     `json:"lost" jsonschema_description:"where the time between sunset and sunrise goes; all of it adds up"`

	MoonSeparation float64 `json:"moon_separation_deg" jsonschema_description:"least distance from the Moon while the sky has the target, or at midnight"`
	MoonBrighter   float64 `json:"moon_brighter_mag" jsonschema_description:"by how many magnitudes the Moon brightens the sky about it, at worst while usable"`
	MaxAltitude    float64 `json:"max_altitude_deg" jsonschema_description:"while it is dark; between sunset and sunrise when it never is"`

	Advice AdviceDoc   `json:"advice"`
	WhyNot string      `json:"why_not" jsonschema_description:"why no sub-exposure fits; empty when one does"`
	Blocks []BlockDoc  `json:"blocks"`
	Other  TargetOther `json:"other_limits" jsonschema_description:"with the other limits"`
	Notes  []string    `json:"notes"`
	UTC    TargetUTC   `json:"utc"`
}

// FlipDoc is a flip window.
type FlipDoc struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// LostDoc says where a night goes, minutes.
type LostDoc struct {
	Exposed  float64 `json:"exposed_min" jsonschema_description:"not lost: sub-exposures with download and dither"`
	Twilight float64 `json:"twilight_min"`
	Horizon  float64 `json:"horizon_min" jsonschema_description:"below the horizon or the least altitude"`
	Moon     float64 `json:"moon_min"`
	NoRoom   float64 `json:"no_room_min"`
	Idle     float64 `json:"idle_min" jsonschema_description:"between stop and resume without a flip window: of idle_min of the target what is dark and high enough"`
	Flip     float64 `json:"flip_min" jsonschema_description:"changing sides: between two blocks without a flip window all but idle_min, which is what is left of a sub-exposure at the stop, waiting for the first proven start, and the slew; or free for want of a proven way to change"`
	Rest     float64 `json:"rest_min" jsonschema_description:"too short for a sub-exposure, or kept as slack"`
}

// TargetOther is what the other limits leave of a target.
type TargetOther struct {
	Mode     LimitMode `json:"mode" jsonschema:"enum=declination,enum=two-number"`
	Usable   []Times   `json:"usable"`
	SubCount int       `json:"sub_count"`
	LostMin  float64   `json:"lost_min"`
	Advice   AdviceDoc `json:"advice"`
}

// TargetUTC repeats a target's times in UTC.
type TargetUTC struct {
	Transit *time.Time `json:"transit" jsonschema:"nullable"`
	Usable  []Times    `json:"usable"`
	Stop    *time.Time `json:"stop" jsonschema:"nullable"`
	Resume  *time.Time `json:"resume" jsonschema:"nullable"`
	Flip    *FlipDoc   `json:"flip" jsonschema:"nullable"`
}

func targetPlan(m *room.Map, p, other *night.Plan, i int) TargetPlan {
	t, o := &p.Targets[i], &other.Targets[i]
	d := TargetPlan{
		Name: t.Name, RADeg: nearest(axes.Deg(t.Place.RA)), DecDeg: nearest(axes.Deg(t.Place.Dec)),
		ApparentRA: nearest(axes.Deg(t.Apparent.RA)), ApparentDec: nearest(axes.Deg(t.Apparent.Dec)),
		Priority: t.Priority, SubS: p.Options.SubOf(t.Target).Seconds(), WantedH: t.Wanted.Hours(),
		Transit: moment(t.Transit), Usable: within(t.Usable), UsableWest: onSide(t, axes.West), UsableEast: onSide(t, axes.East),
		StopReason: room.NeverUsable, ResumeReason: room.NeverUsable, StopParts: []string{}, ResumeParts: []string{},
		FlipWindows: within(t.Flip), SubCount: t.Subs,
		LostMin: up(t.Lost.Rig().Minutes()), Lost: lostDoc(t.Lost),
		MoonSeparation: nearest(axes.Deg(t.MoonApart)), MoonBrighter: nearest(t.MoonBrighter), MaxAltitude: nearest(axes.Deg(t.MaxAltitude)),
		Advice: adviceDoc(t.Advice), WhyNot: whyNot(p, t), Blocks: blockDocs(p, t.Blocks),
		Other: TargetOther{Mode: modeOf(other), Usable: within(o.Usable), SubCount: o.Subs, LostMin: up(o.Lost.Rig().Minutes()), Advice: adviceDoc(o.Advice)},
		Notes: append([]string{}, t.Notes...),
	}
	if t.Rises {
		d.StopReason, d.ResumeReason = t.Row.Stop.Reason, t.Row.Resume.Reason
		d.StopParts, d.ResumeParts = inTheWay(m, axes.West, t.Row.Stop, &t.Row), inTheWay(m, axes.East, t.Row.Resume, &t.Row)
	}
	if !t.Stop.IsZero() {
		d.Stop, d.LastStart = secondDown(t.Stop), secondDown(t.LastStart)
	}
	if !t.Resume.IsZero() {
		d.Resume = secondUp(t.Resume)
	}
	var longest time.Duration
	for _, f := range d.FlipWindows {
		if l := f[1].Sub(f[0]); d.Flip == nil || l > longest {
			d.Flip, longest = &FlipDoc{f[0], f[1]}, l
		}
	}
	for _, w := range t.Idle {
		d.IdleMin = up(d.IdleMin + w.Length().Minutes())
	}
	if len(t.Blocks) > 0 {
		side := t.First.String()
		d.FirstSide = &side
	}
	d.UTC = TargetUTC{Transit: inUTC(d.Transit), Stop: inUTC(d.Stop), Resume: inUTC(d.Resume), Usable: []Times{}}
	for _, w := range d.Usable {
		d.UTC.Usable = append(d.UTC.Usable, Times{w[0].UTC(), w[1].UTC()})
	}
	if f := d.Flip; f != nil {
		d.UTC.Flip = &FlipDoc{f.From.UTC(), f.To.UTC()}
	}
	return d
}

func lostDoc(l night.Lost) LostDoc {
	of := func(d time.Duration) float64 { return nearest(d.Minutes()) }
	return LostDoc{of(l.Exposed), of(l.Twilight), of(l.Horizon), of(l.Moon), of(l.NoRoom), of(l.Idle), of(l.Flip), of(l.Rest)}
}

// onSide returns when a target is usable on one side.
func onSide(t *night.Target, side axes.Side) []Times {
	var ws []sky.Window
	for _, r := range t.Runs {
		if r.Side != side {
			continue
		}
		for _, u := range t.Usable {
			if w := (sky.Window{From: latest(u.From, r.From), To: earliest(u.To, r.To)}); w.From.Before(w.To) {
				ws = append(ws, w)
			}
		}
	}
	return within(ws)
}

// inTheWay names the two parts that leave the least room where a run ends for want of it, the worst over the row's declinations.
func inTheWay(m *room.Map, side axes.Side, end room.RunEnd, r *room.Row) []string {
	out := []string{}
	if end.Reason != room.ByRoom {
		return out
	}
	g := m.Gauge()
	s := g.NewScratch()
	var worst room.Gap
	for i, dec := range []float64{r.DecFrom, (r.DecFrom + r.DecTo) / 2, r.DecTo} {
		if gap := g.Gap(g.Model.Head.Angles(axes.Pose{Side: side, HourAngle: end.HourAngle, Dec: dec}), s); i == 0 || gap.Lower < worst.Lower {
			worst = gap
		}
	}
	for _, k := range worst.LowerPair {
		out = append(out, g.Model.Parts[k].Name)
	}
	return out
}

// whyNot says what leaves a target without a sub-exposure; "" when it has one.
func whyNot(p *night.Plan, t *night.Target) string {
	switch {
	case t.Subs > 0:
		return ""
	case !t.Rises:
		return "never above the horizon here"
	case len(p.Dark) == 0:
		return "it does not get dark"
	case len(t.Sky) == 0 && t.Lost.Moon > 0:
		return "too near to the Moon while it is dark and the target up"
	case len(t.Sky) == 0:
		return "below the horizon or the least altitude while it is dark"
	case len(t.Usable) == 0 && p.EitherSide && len(t.Runs) > 0:
		return "never free on both sides at once, and which side the mount takes is not known (mount.own_rules.side_choice)"
	case len(t.Usable) == 0:
		return "no room on either side while the sky has it"
	}
	for _, w := range t.Usable {
		if w.Length() >= p.Options.SubOf(t.Target)+p.Options.Download+2*night.Slack {
			return "free, but no way there is proven"
		}
	}
	return "room for less than one sub-exposure"
}
