package change

import (
	"context"
	"fmt"
	"math"
	"time"

	"legroom/axes"
	"legroom/night"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// Target is a declination that the owner uses: a target's apparent place and what it may be off by.
type Target struct {
	Name      string
	Dec, Half float64     // radians
	Sky       *sky.Target // nil: a declination alone
}

// dither is what a target's place may be off by, radians.
const dither = 0.1 * math.Pi / 180

// TargetAt is a target with its apparent declination at a moment.
func TargetAt(t sky.Target, when time.Time) Target {
	return Target{Name: t.Name, Dec: t.Place.Apparent(when).Dec, Half: dither + t.Extent, Sky: &t}
}

// Spread are declinations 10° apart that rise at a latitude, radians, for an owner who names no targets.
func Spread(lat float64) []Target {
	var out []Target
	for d := -80; d <= 80; d += 10 {
		if math.Abs(axes.Rad(float64(d))-lat) < math.Pi/2-axes.Rad(10) {
			name := fmt.Sprintf("+%d°", d)
			if d <= 0 {
				name = fmt.Sprintf("−%d°", -d)
			}
			if d == 0 {
				name = "0°"
			}
			out = append(out, Target{Name: "declination " + name, Dec: axes.Rad(float64(d)), Half: dither})
		}
	}
	return out
}

// Ask says what is asked of each variant.
type Ask struct {
	Holds, HoldsNot []string // conditions, as rig.Known takes them
	Mode            rig.ToleranceMode
	MarginMM        *float64 // the margin to ask with; nil: the one that the document, or its variant, has
	Targets         []Target
	Lost            *Lost   // nil: lost minutes are not asked for
	CellDeg         float64 // of the map; 0.25 when 0
	WindMS, PushN   float64 // that bending is for
}

// Lost says over which nights lost minutes are counted: one evening, or the months from its month on.
type Lost struct {
	Date    time.Time
	Months  int // 0: the one night
	Options night.Options
}

// TargetResult is what a rig leaves of one target.
type TargetResult struct {
	Target
	Rises bool
	Row   room.Row
	Alone bool          // one run on one side holds it as long as it is above the horizon: it needs no flip
	Lost  time.Duration // what the rig costs of the sky's time; only with Ask.Lost
	NoWay time.Duration // of Lost: free, but without a proven slew there from park; counted over months only
	Sky   time.Duration // dark, up and the Moon far enough; only with Ask.Lost
	Worst Worst
}

// Result is what one rig gives.
type Result struct {
	Name        string
	Edits       []Edit
	Document    []byte // the changed document
	Rig         *rig.Rig
	Assumed     []string // what had to be assumed to make it
	Gauge       *room.Gauge
	Map         *room.Map
	Room        room.Share
	Targets     []TargetResult
	Worst       Worst // the least over all targets
	Load        Load
	Fingerprint string
}

// gauge prepares a rig for questions.
func (a *Ask) gauge(r *rig.Rig) (*room.Gauge, error) {
	if a.MarginMM != nil {
		r = r.Clone()
		r.MarginMM.Value = *a.MarginMM
	}
	known, err := r.Known(a.Holds, a.HoldsNot)
	if err != nil {
		return nil, err
	}
	m, err := axes.NewModel(r, known)
	if err != nil {
		return nil, err
	}
	return room.NewGauge(m, room.Options{Mode: a.Mode})
}

// Measure answers for one rig. Progress, when given, is called now and then with the share done.
func Measure(ctx context.Context, r *rig.Rig, a Ask, progress func(done float64)) (*Result, error) {
	show := func(x float64) {
		if progress != nil {
			progress(x)
		}
	}
	g, err := a.gauge(r)
	if err != nil {
		return nil, err
	}
	if err := g.JointsHold(); err != nil {
		return nil, err
	}
	m, err := room.NewMap(ctx, g, room.MapOptions{CellDeg: a.CellDeg})
	if err != nil {
		return nil, err
	}
	out := &Result{Rig: g.Model.Rig, Gauge: g, Map: m, Room: m.Room(), Fingerprint: g.Model.Rig.Fingerprint(), Worst: Worst{Lower: math.Inf(1)}}
	targets := a.Targets
	if len(targets) == 0 {
		targets = Spread(g.Model.Head.Latitude)
	}
	for i, t := range targets {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		x := TargetResult{Target: t, Worst: Worst{Lower: math.Inf(1)}}
		if x.Row, x.Rises = m.Target(t.Dec, t.Half); x.Rises {
			x.Alone = (&band{high: m.Up(t.Dec-t.Half, t.Dec+t.Half, 0)}).alone(&x.Row)
			x.Worst = worstOf(g, t.Dec, m.Up(t.Dec, t.Dec, 0))
			if x.Worst.Lower < out.Worst.Lower {
				out.Worst = x.Worst
			}
		}
		if a.Lost != nil && t.Sky != nil && a.Lost.Months == 0 {
			if err := a.Lost.tonight(ctx, m, r, &x); err != nil {
				return nil, err
			}
		}
		out.Targets = append(out.Targets, x)
		show(0.8 * float64(i+1) / float64(len(targets)))
	}
	if a.Lost != nil && a.Lost.Months > 0 {
		if err := a.Lost.season(ctx, m, r, out.Targets, func(x float64) { show(0.8 + 0.15*x) }); err != nil {
			return nil, err
		}
	}
	if out.Load, err = loadOf(ctx, m, a, everything); err != nil {
		return nil, err
	}
	show(1)
	return out, nil
}

// tonight plans one target for the evening, as if the night were for it alone.
func (l *Lost) tonight(ctx context.Context, m *room.Map, r *rig.Rig, t *TargetResult) error {
	site, err := sky.NewSite(r.Site)
	if err != nil {
		return err
	}
	p, err := night.New(ctx, m, site, l.Date, []sky.Target{*t.Target.Sky}, l.Options)
	if err != nil {
		return err
	}
	got := &p.Targets[0]
	t.Lost = got.Lost.Rig()
	for _, w := range got.Sky {
		t.Sky += w.Length()
	}
	return nil
}

// season counts the nights of the months.
func (l *Lost) season(ctx context.Context, m *room.Map, r *rig.Rig, targets []TargetResult, progress func(float64)) error {
	site, err := sky.NewSite(r.Site)
	if err != nil {
		return err
	}
	var list []sky.Target
	var at []int
	for i := range targets {
		if targets[i].Target.Sky != nil {
			list, at = append(list, *targets[i].Target.Sky), append(at, i)
		}
	}
	if len(list) == 0 {
		return nil
	}
	s, err := night.NewSeason(ctx, m, site, l.Date.Year(), l.Date.Month(), l.Months, list, l.Options, progress)
	if err != nil {
		return err
	}
	for k, i := range at {
		h := s.Targets[k].All
		targets[i].Sky, targets[i].Lost, targets[i].NoWay = h.Sky, h.Sky-h.By.Hours, h.By.NoWay
	}
	return nil
}
