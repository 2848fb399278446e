package night

import (
	"cmp"
	"context"
	"errors"
	"math"
	"sync"
	"time"

	"legroom/axes"
	"legroom/room"
	"legroom/sky"
)

// Plan is what a night gives.
type Plan struct {
	Night   sky.Night
	Moon    Moon
	Options Options
	Dark    []sky.Window // the Sun is below Options.SunAltitude, cut at the noons
	// West and East are the RA axis limits that the plan keeps to, radians from counterweight-down, when Options.TwoNumber is set.
	West, East float64
	Targets    []Target
	EitherSide bool // the document leaves open which side the mount takes: only what is free on both counts
	Schedule   Schedule
	Pair       Advice // safe for every target of the night
	Notes      []string
}

// Moon is what the Moon does.
type Moon struct {
	Lit       float64   // share of the disk at midnight, 0…1
	Rise, Set time.Time // the first of the night; zero where there is none
	Up        []sky.Window
}

// Target is what one target can have on its own, as if the whole night were for it.
type Target struct {
	sky.Target
	Apparent sky.Equatorial // at midnight
	Half     float64        // what the plan takes it to be off by in declination, to each side, radians
	Transit  time.Time      // the upper one that is nearest to midnight
	Rises    bool           // above the horizon's profile at some time of the day
	Row      room.Row       // hour angles; meaningless unless Rises

	Sky    []sky.Window // dark, up, and the Moon far enough: what the sky gives
	Runs   []Run        // what the rig leaves free, by side
	Usable []sky.Window // both: exposures may be taken, on one side or the other
	First  axes.Side    // of the first block; meaningless without Blocks
	// Stop, Resume and Flip are the row's where the sky has them tonight: the zero time, or none.
	Stop, Resume time.Time
	StopReason   room.Reason
	Flip         []sky.Window
	Idle         []sky.Window // from stop to resume without a flip window, between the sky's first and last moment
	LastStart    time.Time    // the latest start of a sub-exposure that ends by the advice's stop; zero without a stop
	Blocks       []Block
	Subs         int
	Lost         Lost
	MoonApart    float64 // least distance from the Moon, up or not, while the sky has the target; at midnight when it never has, radians
	MoonBrighter float64 // by how many magnitudes the Moon brightens the sky about it, at worst while usable
	MaxAltitude  float64 // while it is dark; between sunset and sunrise when it never is, radians
	Advice       Advice

	seen seen
	wide float64 // how far its pointings reach in hour angle, to each side, radians
}

// Block is a stretch of exposures of one target on one side.
type Block struct {
	Target   int // index in Plan.Targets
	Side     axes.Side
	Either   bool // the document leaves open which side the mount takes: both are proven
	From, To time.Time
	Subs     int
	Come     Move   // how the mount gets there
	Why      string // in one line
}

// Schedule is the night's order of blocks.
type Schedule struct {
	Blocks []Block
	// Park is the proven slew to the park position after the last block; nil when there is none.
	Park *Move
	// Worth is what the blocks are worth, Bound what no schedule of the same grid of minutes can exceed, in minutes of the first
	// priority under the best sky. Exact tells that they are the same.
	Worth, Bound float64
	Exact        bool
}

// New plans the night that follows the evening of a date in the site's zone. The map must be of the rig at that site; a map whose
// joints do not hold gives room's ErrJoint.
func New(ctx context.Context, m *room.Map, site sky.Site, date time.Time, targets []sky.Target, o Options) (*Plan, error) {
	h, all, err := look(ctx, m, site, date, targets, o)
	if err != nil {
		return nil, err
	}
	return newPlan(ctx, m, h, all, o.TwoNumber)
}

// Both plans one night twice, side by side: as asked for, and with the other kind of limits (Options.TwoNumber turned round), so that
// the difference can be shown.
func Both(ctx context.Context, m *room.Map, site sky.Site, date time.Time, targets []sky.Target, o Options) (asked, other *Plan, err error) {
	h, all, err := look(ctx, m, site, date, targets, o)
	if err != nil {
		return nil, nil, err
	}
	m = m.Remember()
	var both sync.WaitGroup
	var failed error
	both.Go(func() { other, failed = newPlan(ctx, m, h, all, !o.TwoNumber) })
	asked, err = newPlan(ctx, m, h, all, o.TwoNumber)
	both.Wait()
	return asked, other, cmp.Or(err, failed)
}

// look finds what the sky gives, once what is asked for makes sense.
func look(ctx context.Context, m *room.Map, site sky.Site, date time.Time, targets []sky.Target, o Options) (*heavens, []seen, error) {
	if err := o.fill(); err != nil {
		return nil, nil, err
	}
	if len(targets) == 0 {
		return nil, nil, errors.New("no targets: give one at least")
	}
	if err := m.Gauge().JointsHold(); err != nil {
		return nil, nil, err
	}
	n, err := sky.NightOf(site, date.Year(), date.Month(), date.Day())
	if err != nil {
		return nil, nil, err
	}
	h := newHeavens(&n, n.MoonUp(), o)
	all := make([]seen, len(targets))
	room.InParallel(len(targets), func(i int) {
		if ctx.Err() == nil {
			all[i] = h.see(targets[i])
		}
	})
	return h, all, ctx.Err()
}

// newPlan plans under one kind of limits.
func newPlan(ctx context.Context, m *room.Map, h *heavens, all []seen, twoNumber bool) (*Plan, error) {
	plan := &Plan{Night: *h.night, Moon: h.moonOf(), Options: h.options, Dark: h.dark, Targets: make([]Target, len(all))}
	plan.Options.TwoNumber = twoNumber
	if twoNumber {
		plan.West, plan.East = enforced(m, all)
		m = m.Within(plan.West, plan.East)
	}
	p := newPlanner(m, h)
	plan.EitherSide = !p.sided.certain
	room.InParallel(len(all), func(i int) {
		if ctx.Err() == nil {
			plan.Targets[i] = p.look(all[i])
		}
	})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := p.fill(ctx, plan); err != nil {
		return nil, err
	}
	plan.Pair = p.pair(plan.Targets)
	plan.Notes = p.notes(plan)
	return plan, nil
}

// enforced returns the two-number limit for the declinations of a night's targets, rounded down to the mount's entry step.
func enforced(m *room.Map, all []seen) (west, east float64) {
	from, to := math.Pi/2, -math.Pi/2
	for _, s := range all {
		dec, half := s.apparent.Dec, halfOf(s.target, m.Overshoot())
		from, to = min(from, max(-math.Pi/2, dec-half)), max(to, min(math.Pi/2, dec+half))
	}
	return pairFor(m, from, to)
}

// pairFor returns the two-number limit for the declinations from one to another, radians, rounded down to the mount's entry step.
func pairFor(m *room.Map, from, to float64) (west, east float64) {
	west, east = m.Pair(from, to)
	step := m.Gauge().Model.Rig.Mount.EntryStepDeg
	return axes.Rad(floorTo(axes.Deg(west), step)), axes.Rad(floorTo(axes.Deg(east), step))
}

func (h *heavens) moonOf() Moon {
	rise, set := h.night.MoonRiseSet()
	return Moon{Lit: h.lit, Rise: rise, Set: set, Up: h.moonUp}
}

// floorTo rounds down to a step.
func floorTo(x, step float64) float64 { return math.Floor(x/step+1e-9) * step }
