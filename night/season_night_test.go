package night

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"legroom/axes"
	"legroom/room"
	"legroom/sky"
)

// oneMonth gives the hours of every night of a month, as a season has them before it adds them up.
func oneMonth(t testing.TB, m *room.Map, site sky.Site, year int, month time.Month,
	targets []sky.Target, o Options) ([]evening, []date, *Season) {
	t.Helper()
	if err := o.fill(); err != nil {
		t.Fatal(err)
	}
	s := &Season{Options: o}
	dates := s.dates(site, year, month, 1)
	evenings := make([]evening, len(dates))
	for i := range evenings {
		if err := evenings[i].begin(site, dates[i], targets, o); err != nil {
			t.Fatal(err)
		}
	}
	s.bands(targets, evenings, m.Overshoot())
	within := s.enforce(m)
	var by, two []limits
	for i := range s.Targets {
		by = append(by, limitsFor(m, &s.Targets[i]))
		two = append(two, limitsFor(within, &s.Targets[i]))
	}
	for i := range evenings {
		evenings[i].look(s.Targets, by, two)
	}
	return evenings, dates, s
}

var seasonRigs = []string{"terrace-long-refractor", "karoo-newtonian", "balcony-strain-wave", "terrace-turned"}

// The hours are those of the plan of each night: random rigs, months, targets, least altitudes and Moon limits, five nights of each.
func TestSeasonAgreesWithTheNight(t *testing.T) {
	const seed = 20261125
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	var worstSky, worstBy time.Duration
	nights, usable := 0, 0
	proven := map[string]*room.Map{}
	for k := range 4 * len(seasonRigs) {
		name := seasonRigs[k%len(seasonRigs)]
		if proven[name] == nil {
			proven[name], _ = seasonMap(t, name, nil)
		}
		m := proven[name]
		site, err := sky.NewSite(m.Gauge().Model.Rig.Site)
		if err != nil {
			t.Fatal(err)
		}
		targets := seasonTargets(rnd, 4)
		o := Options{MinAltitude: axes.Rad(rnd.Float64() * 40), Sub: time.Minute}
		if rnd.IntN(2) == 0 {
			o.MoonApart, o.MoonLit = axes.Rad(20+rnd.Float64()*70), rnd.Float64()*0.6
		}
		if rnd.IntN(3) == 0 {
			o.SunAltitude = axes.Rad(-6 - rnd.Float64()*10)
		}
		year, month := 2025+rnd.IntN(8), time.Month(1+rnd.IntN(12))
		evenings, dates, _ := oneMonth(t, m, site, year, month, targets, o)
		for range 3 {
			i := rnd.IntN(len(dates))
			plan, err := New(context.Background(), m, site, dates[i].Time, targets, o)
			if err != nil {
				t.Fatal(err)
			}
			for j := range targets {
				g, h := &plan.Targets[j], evenings[i].hours[j]
				nights++
				has, free := spans(g.Sky).length(), spans(g.Usable).length()
				if free > 0 {
					usable++
				}
				off := (h.Sky - has).Abs()
				worstSky = max(worstSky, off)
				if off > 100*time.Millisecond {
					t.Errorf("%s, %s, %s: the sky gives %v, the night's plan %v", name, dates[i].Format(time.DateOnly), g.Name, h.Sky, has)
				}
				// The season's band holds the night's, and is wider by the little that the declination changes in a month. Each end of a run
				// is proven to 0.005° = 1.2 s, in cells that lie elsewhere in another band.
				less := free - h.By.Usable()
				worstBy = max(worstBy, less)
				if less < -3*time.Second || less > 10*time.Second {
					t.Errorf("%s, %s, %s at %.1f°: usable %v, the night's plan %v", name, dates[i].Format(time.DateOnly), g.Name,
						axes.Deg(g.Apparent.Dec), h.By.Usable(), free)
				}
				// A plan of the target alone loses whole minutes at each end of its blocks, Slack, and the first slew. Both try the stop and the
				// flip from there minute by minute, but not the same minutes.
				if over := g.Lost.Exposed - h.By.Hours; over > 2*time.Minute || over < -time.Duration(2+10*len(g.Blocks))*time.Minute {
					t.Errorf("%s, %s, %s at %.1f°: %v to expose, and the night's plan exposes %v in %d blocks; %+v", name, dates[i].Format(time.DateOnly),
						g.Name, axes.Deg(g.Apparent.Dec), h.By.Hours, g.Lost.Exposed, len(g.Blocks), h.By)
				}
			}
		}
	}
	if usable < nights/4 {
		t.Errorf("only %d of %d have usable time: the test says too little", usable, nights)
	}
	t.Logf("%d nights and targets, %d usable: the sky differs by %v at most, usable time is less by %v at most",
		nights, usable, worstSky, worstBy)
}

// An independent check that shares nothing with windows, rows and maps: step by the minute, ask where Sun, Moon and target are, and
// what the gap is.
func TestSeasonByTheMinute(t *testing.T) {
	const seed = 7
	t.Logf("seed %d", seed)
	rnd := rand.New(rand.NewPCG(seed, 1))
	for _, name := range seasonRigs {
		m, site := seasonMap(t, name, nil)
		targets := seasonTargets(rnd, 6)
		o := Options{MinAltitude: axes.Rad(10), MoonApart: axes.Rad(40), MoonLit: 0.2}
		evenings, dates, s := oneMonth(t, m, site, 2027, time.Month(1+rnd.IntN(12)), targets, o)
		i := rnd.IntN(len(dates))
		n := evenings[i].night
		_, lit := sky.MoonPhase(n.Midnight)
		g := m.Gauge()
		scratch := g.NewScratch()
		for j := range targets {
			var has, free time.Duration
			var was [2]bool
			edges := 0
			for at := n.Noon; at.Before(n.NextNoon); at = at.Add(time.Minute) {
				e := targets[j].Place.Apparent(at)
				alt, az := site.AltAz(at, e)
				up := site.SunAltitude(at) < sky.Astronomical && alt >= o.MinAltitude && alt >= axes.Rad(site.Horizon.Altitude(axes.Deg(az)))
				if lit >= o.MoonLit && site.MoonAltitude(at) >= sky.RiseSet && site.MoonSeparation(at, e) < o.MoonApart {
					up = false
				}
				open := false
				if up {
					has += time.Minute
					var sides [2]bool
					for side := range sides {
						sides[side] = true
						for _, dec := range []float64{s.Targets[j].DecFrom, e.Dec, s.Targets[j].DecTo} {
							sides[side] = sides[side] && poseIsFree(m, scratch, axes.Side(side), site.HourAngle(at, e), dec)
						}
					}
					open = sides[0] || sides[1]
					if !sidesOf(m).certain {
						open = sides[0] && sides[1]
					}
					if open {
						free += time.Minute
					}
				}
				if up != was[0] || open != was[1] {
					edges++
				}
				was = [2]bool{up, open}
			}
			h := evenings[i].hours[j]
			// Each edge is off by half a minute on the average and a minute at most; limits of the band are proven to 0.01° = 2.4 s.
			may := time.Duration(edges)*time.Minute + 10*time.Second
			if (h.Sky-has).Abs() > may || (h.By.Usable()-free).Abs() > may {
				t.Errorf("%s, %s, %s: %v of sky and %v usable, by the minute %v and %v; %d edges", name, dates[i].Format(time.DateOnly),
					targets[j].Name, h.Sky, h.By.Usable(), has, free, edges)
			}
		}
	}
}

// poseIsFree asks for the gap at a pose, by every turn of the axes that is within travel.
func poseIsFree(m *room.Map, s *room.Scratch, side axes.Side, hour, dec float64) bool {
	g := m.Gauge()
	at := g.Model.Head.Angles(axes.Pose{Side: side, HourAngle: hour, Dec: dec})
	for _, ra := range []float64{-1, 0, 1} {
		for _, d := range []float64{-1, 0, 1} {
			turned := axes.Angles{RA: at.RA + ra*2*math.Pi, Dec: at.Dec + d*2*math.Pi}
			if g.Model.Travel.Contains(turned) && g.Gap(turned, s).Lower >= g.MarginMM {
				return true
			}
		}
	}
	return false
}
