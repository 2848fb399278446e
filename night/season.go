package night

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync/atomic"
	"time"

	"legroom/room"
	"legroom/sky"
)

// Season is what the nights of some months give each target, with and without the rig's limits.
type Season struct {
	Options Options
	Months  []Month
	// West and East are the two-number limit for the declinations of all targets, radians from counterweight-down, rounded down to
	// the mount's entry step.
	West, East float64
	Either     bool // the document leaves open which side the mount takes: both must be free
	Targets    []SeasonTarget
	Total      SeasonTarget // the sums over the targets; only Months and All are set
}

// Month is the nights whose evenings lie in a calendar month at the site.
type Month struct {
	Year   int
	Month  time.Month
	Nights int
	Dark   time.Duration // the Sun low enough
}

// SeasonTarget is one target through the season.
type SeasonTarget struct {
	sky.Target
	// DecFrom and DecTo hold the apparent declination of every night and what the place and the pointing may be off by: the
	// limits are those of this whole band, radians.
	DecFrom, DecTo float64
	Rises          bool
	Months         []Hours
	All            Hours
	Best           int // index of the month with the most hours within the limits by declination, the first of equals; −1: none
}

// Hours is what some nights give one target.
type Hours struct {
	Sky    time.Duration // dark, up, and the Moon far enough: without the rig
	Nights int           // with at least Options.MinBlock of that
	By     Limited       // with limits by declination
	Two    Limited       // with the two-number limit as well
}

// Limited is what limits leave of Hours.Sky. Sky = Hours + NoWay + Flip + Idle + NoRoom.
type Limited struct {
	// Hours is the most that can be exposed on one side at a time, when every change of sides is a proven one at its slowest. Where
	// the document leaves open which side the mount takes, both must be free, and no change is needed. They begin where a slew from
	// the park position (or what stands for it) is proven; the time it takes is not counted, nor are downloads and cut sub-exposures.
	Hours  time.Duration
	NoWay  time.Duration // free on some side, but lost for want of a proven way there from the park position
	Flip   time.Duration // free on some side, but lost to changing sides, or for want of a proven way to change
	Idle   time.Duration // free on no side, between the stop on side west and the resume on side east
	NoRoom time.Duration // free on no side, at another time
	Nights int           // with at least Options.MinBlock of Hours
}

// Usable is how long some side is proven free.
func (l Limited) Usable() time.Duration { return l.Hours + l.NoWay + l.Flip }

// Add adds other nights' hours.
func (l *Limited) Add(o Limited) {
	l.Hours += o.Hours
	l.NoWay += o.NoWay
	l.Flip += o.Flip
	l.Idle += o.Idle
	l.NoRoom += o.NoRoom
	l.Nights += o.Nights
}

// Add adds other nights' hours.
func (h *Hours) Add(o Hours) {
	h.Sky += o.Sky
	h.Nights += o.Nights
	h.By.Add(o.By)
	h.Two.Add(o.Two)
}

// evening is one night of a season: what all targets share of it, and where they are.
type evening struct {
	*heavens
	month    int
	apparent []sky.Equatorial // at midnight
	hours    []Hours
}

// NewSeason looks at every night whose evening lies in one of the months from a year and month on, in the site's zone. Each night
// is counted whole for the month of its evening. Progress, when given, is called now and then with the share done, 0…1.
func NewSeason(ctx context.Context, m *room.Map, site sky.Site, year int, month time.Month, months int,
	targets []sky.Target, o Options, progress func(done float64)) (*Season, error) {
	if err := o.fill(); err != nil {
		return nil, err
	}
	switch {
	case len(targets) == 0:
		return nil, errors.New("no targets: give one at least")
	case len(targets) > MaxTargets:
		return nil, fmt.Errorf("%d targets: give up to %d at a time", len(targets), MaxTargets)
	case months < 1 || months > MaxMonths:
		return nil, fmt.Errorf("%d months: give 1 to %d", months, MaxMonths)
	case site.Zone == nil:
		return nil, errors.New("the site has no time zone: give an IANA name")
	}
	if err := m.Gauge().JointsHold(); err != nil {
		return nil, err
	}
	s := &Season{Options: o, Either: !sidesOf(m).certain}
	dates := s.dates(site, year, month, months)
	work := newWork(ctx, progress, 2*len(dates)+targetWork*len(targets))
	evenings := make([]evening, len(dates))
	failed := make([]error, len(dates))
	work.each(len(dates), 1, func(i int) {
		failed[i] = evenings[i].begin(site, dates[i], targets, o)
	})
	if err := errors.Join(append(failed, ctx.Err())...); err != nil {
		return nil, err
	}
	s.bands(targets, evenings, m.Overshoot())
	m = m.Remember()
	within := s.enforce(m)
	by, two := make([]limits, len(targets)), make([]limits, len(targets))
	work.each(len(targets), targetWork, func(i int) {
		g := &s.Targets[i]
		by[i] = limitsFor(m, g)
		two[i] = limitsFor(within, g)
		g.Rises = by[i].rises
	})
	work.each(len(dates), 1, func(i int) { evenings[i].look(s.Targets, by, two) })
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.sum(evenings, dates)
	return s, nil
}

// MaxTargets is how many targets a season may have. With more, the sums over all could exceed the 292 years that a time.Duration holds.
const MaxTargets = 250

// MaxMonths is how long a season may be. The limits of a target are those of all declinations that it has meanwhile: precession
// moves it by up to 20″ a year, and the limits of a decade would be tighter than those of any night.
const MaxMonths = 24

// date is an evening, and the index of its month.
type date struct {
	time.Time // noon in the site's zone
	month     int
}

// dates lists the evenings of the months. A zone that skips a date has no such evening.
func (s *Season) dates(site sky.Site, year int, month time.Month, months int) []date {
	var out []date
	for k := range months {
		first := time.Date(year, month+time.Month(k), 1, 12, 0, 0, 0, time.UTC)
		s.Months = append(s.Months, Month{Year: first.Year(), Month: first.Month()})
		for d := first; d.Month() == first.Month(); d = d.AddDate(0, 0, 1) {
			noon := time.Date(d.Year(), d.Month(), d.Day(), 12, 0, 0, 0, site.Zone)
			if noon.Day() == d.Day() {
				out = append(out, date{noon, k})
			}
		}
	}
	return out
}

// begin finds what the targets of a night share, and where they are.
func (e *evening) begin(site sky.Site, d date, targets []sky.Target, o Options) error {
	n, err := sky.NightOf(site, d.Year(), d.Month(), d.Day())
	if err != nil {
		return err
	}
	h := &heavens{night: &n, options: o}
	h.darken()
	if o.MoonApart > 0 {
		_, h.lit = sky.MoonPhase(n.Midnight)
		if h.lit >= o.MoonLit {
			h.moonUp = n.MoonUp()
			h.moon = site.MoonPath(n.Noon, n.NextNoon)
		}
	}
	*e = evening{heavens: h, month: d.month, apparent: make([]sky.Equatorial, len(targets)), hours: make([]Hours, len(targets))}
	for i, t := range targets {
		e.apparent[i] = t.Place.Apparent(n.Midnight)
	}
	return nil
}

// bands gives each target the band of declination that its limits must hold for: of each night the very declination that the night
// is looked at with, and halfOf to each side, as for a plan of that night alone. Between two midnights no night takes another.
func (s *Season) bands(targets []sky.Target, evenings []evening, overshoot float64) {
	s.Targets = make([]SeasonTarget, len(targets))
	for i, t := range targets {
		lo, hi := math.Inf(1), math.Inf(-1)
		for k := range evenings {
			dec := evenings[k].apparent[i].Dec
			lo, hi = min(lo, dec), max(hi, dec)
		}
		half := halfOf(t, overshoot)
		s.Targets[i] = SeasonTarget{Target: t, DecFrom: max(lo-half, -math.Pi/2), DecTo: min(hi+half, math.Pi/2)}
	}
}

// enforce finds the two-number limit for the declinations of all targets, and returns the map within it.
func (s *Season) enforce(m *room.Map) *room.Map {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, g := range s.Targets {
		lo, hi = min(lo, g.DecFrom), max(hi, g.DecTo)
	}
	s.West, s.East = pairFor(m, lo, hi)
	return m.Within(s.West, s.East)
}

// look finds the hours of every target on one night.
func (e *evening) look(g []SeasonTarget, by, two []limits) {
	n := e.night
	for i, at := range e.apparent {
		t := g[i].Target
		track := n.Site.Track(n.Midnight, at)
		up := e.high(t, at)
		var has spans
		for _, w := range e.dark {
			has = append(has, sky.Windows(up, w.From, w.To)...)
		}
		has = has.less(e.tooBright(t, at))
		if len(has) == 0 {
			continue
		}
		h := handOf(track, n)
		e.hours[i] = Hours{Sky: has.length(), By: by[i].night(h, n, has), Two: two[i].night(h, n, has)}
		e.hours[i].count(e.options.MinBlock)
	}
}

// count counts one night where it has at least d.
func (h *Hours) count(d time.Duration) {
	one := func(has time.Duration) int {
		if has >= d {
			return 1
		}
		return 0
	}
	h.Nights, h.By.Nights, h.Two.Nights = one(h.Sky), one(h.By.Hours), one(h.Two.Hours)
}

// sum adds the nights up, in their order.
func (s *Season) sum(evenings []evening, dates []date) {
	s.Total.Months = make([]Hours, len(s.Months))
	for k := range evenings {
		m := &s.Months[dates[k].month]
		m.Nights++
		m.Dark += evenings[k].dark.length()
	}
	for i := range s.Targets {
		g := &s.Targets[i]
		g.Months = make([]Hours, len(s.Months))
		for k := range evenings {
			g.Months[evenings[k].month].Add(evenings[k].hours[i])
		}
		g.Best = -1
		for k, h := range g.Months {
			g.All.Add(h)
			s.Total.Months[k].Add(h)
			if h.By.Hours > 0 && (g.Best < 0 || h.By.Hours > g.Months[g.Best].By.Hours) {
				g.Best = k
			}
		}
		s.Total.All.Add(g.All)
	}
}

// work runs the pieces of a season in parallel, until its context ends, and reports progress.
type work struct {
	ctx      context.Context
	progress func(done float64)
	done     atomic.Int64
	all      int
	turn     chan struct{} // held by the one that reports
}

func newWork(ctx context.Context, progress func(float64), all int) *work {
	return &work{ctx: ctx, progress: progress, all: all, turn: make(chan struct{}, 1)}
}

// targetWork is how much longer the limits of a target take than a night, about.
const targetWork = 5

// each calls f for 0 to n−1, each of which counts as much work as weight.
func (w *work) each(n, weight int, f func(i int)) {
	room.InParallel(n, func(i int) {
		if w.ctx.Err() != nil {
			return
		}
		f(i)
		done := w.done.Add(int64(weight))
		if w.progress == nil {
			return
		}
		select {
		case w.turn <- struct{}{}:
			w.progress(float64(done) / float64(w.all))
			<-w.turn
		default:
		}
	})
}
