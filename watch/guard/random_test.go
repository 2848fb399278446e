package guard

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
	"legroom/room"
	"legroom/watch"
)

// gatekeeper stands before the mount and looks, with no help of the watch's proof, at what comes to it to set it in motion.
type gatekeeper struct {
	*alpaca.Remote
	b *bench

	mu    sync.Mutex
	under string // the command that the mount is working on
	came  map[string]int
	wrong []string
}

// setsInMotion are the commands that come one at a time.
var setsInMotion = []string{"slewtocoordinates", "slewtocoordinatesasync", "sideofpier", "park", "findhome", "unpark", "synctocoordinates"}

func (k *gatekeeper) Call(ctx context.Context, c alpaca.Call) (any, error) {
	if !c.Put {
		return k.Remote.Call(ctx, c)
	}
	k.mu.Lock()
	k.came[c.Member]++
	k.mu.Unlock()
	moves := c.Member == "tracking" && c.Bool("Tracking") || c.Member == "moveaxis" && c.Float("Rate") != 0
	if !moves && !slices.Contains(setsInMotion, c.Member) {
		return k.Remote.Call(ctx, c)
	}
	k.mu.Lock()
	if k.under != "" {
		k.wrong = append(k.wrong, fmt.Sprintf("%s while the mount works on %s", c.Member, k.under))
	}
	k.under = c.Member
	k.mu.Unlock()
	why := k.judge(c)
	v, err := k.Remote.Call(ctx, c)
	k.mu.Lock()
	defer k.mu.Unlock()
	k.under = ""
	if why != "" {
		k.wrong = append(k.wrong, c.Member+": "+why)
	}
	return v, err
}

// judge says what is wrong with a command, "" if nothing.
func (k *gatekeeper) judge(c alpaca.Call) string {
	s, now := k.b.w.Status(), k.b.sim.State()
	switch {
	case len(s.Blind) > 0:
		return fmt.Sprintf("the watch is blind: %v", s.BlindWhy)
	case s.Rung == watch.Stopping || s.Rung == watch.Hooked || s.Held:
		return fmt.Sprintf("the watch stops the mount: %s", s.Why)
	case now.Slewing, now.ByHand && c.Member != "moveaxis":
		return "the mount moves"
	}
	gauge := theMap(k.b.t).Gauge()
	to := []axes.Angles{}
	switch c.Member {
	case "park":
		to = append(to, axes.Angles{})
	case "slewtocoordinates", "slewtocoordinatesasync":
		place := k.b.guard.place(c)
		hour := axes.Wrap(k.b.site.SiderealTime(time.Now()) - place.RA)
		for _, side := range k.b.w.Sides(place) {
			at := gauge.Model.Head.Angles(axes.Pose{Side: side, HourAngle: hour, Dec: place.Dec})
			to = append(to, axes.Angles{RA: axes.Wrap(at.RA), Dec: at.Dec})
		}
	}
	scratch := gauge.NewScratch()
	for _, end := range to {
		if at, gap := nearestOnWay(gauge, scratch, now.Believed, end); gap <= 0 {
			return fmt.Sprintf("from %v to %v the parts meet at %v by %.1f mm", now.Believed, end, at, -gap)
		}
	}
	return ""
}

// nearestOnWay is where the rig, as it is measured, comes nearest to itself when both axes start at once and turn equally fast.
func nearestOnWay(g *room.Gauge, s *room.Scratch, from, to axes.Angles) (at axes.Angles, gap float64) {
	gap = math.Inf(1)
	ra, dec := to.RA-from.RA, to.Dec-from.Dec
	far := math.Max(math.Abs(ra), math.Abs(dec))
	for d := 0.0; ; d += axes.Rad(1) {
		d = math.Min(d, far)
		p := axes.Angles{RA: from.RA + math.Copysign(math.Min(d, math.Abs(ra)), ra),
			Dec: from.Dec + math.Copysign(math.Min(d, math.Abs(dec)), dec)}
		if n := g.Gap(p, s).Nearest.Gap; n < gap {
			at, gap = p, n
		}
		if d == far {
			return at, gap
		}
	}
}

// Several clients that do what they like through the guard, at once: nothing comes to the mount that a look at the way itself finds not
// free, or while another command or a stop is under way; no parts touch; every answer is one of the standard's; and nothing is left over.
func TestClientsAtRandom(t *testing.T) {
	theMap(t)
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	before := runtime.NumGoroutine()
	t.Run("clients", func(t *testing.T) { clientsAtRandom(t, seed) })
	for end := time.Now().Add(5 * time.Second); runtime.NumGoroutine() > before; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			stacks := make([]byte, 1<<16)
			t.Fatalf("%d goroutines, %d before:\n%s", runtime.NumGoroutine(), before, stacks[:runtime.Stack(stacks, true)])
		}
	}
}

func clientsAtRandom(t *testing.T, seed uint64) {
	b := newBench(t, deg(60, 45), Options{}, nil)
	k := &gatekeeper{Remote: b.real, b: b, came: map[string]int{}}
	b.over(k)
	var all sync.WaitGroup
	var mu sync.Mutex
	let, refused := 0, 0
	end := time.Now().Add(6 * time.Second)
	for i := range 5 {
		all.Go(func() {
			luck := rand.New(rand.NewPCG(seed, uint64(i)))
			host := alpaca.NewHost(strings.TrimPrefix(b.url, "http://"))
			host.Deadline = 20 * time.Second
			defer host.Close()
			d := host.Device("telescope", 0)
			for time.Now().Before(end) {
				c := b.draw(luck)
				ctx, hangUp := context.WithCancel(t.Context())
				hangsUp := luck.IntN(10) == 0
				if hangsUp {
					time.AfterFunc(time.Duration(luck.IntN(50))*time.Millisecond, hangUp)
				}
				_, err := d.Call(ctx, c)
				hangUp()
				if c.Member == "moveaxis" && c.Float("Rate") != 0 { // lets the button go
					time.Sleep(time.Duration(luck.IntN(300)) * time.Millisecond)
					if _, err := d.Call(t.Context(), alpaca.Put("moveaxis", alpaca.Args{"Axis": c.Int("Axis"), "Rate": 0.0})); err != nil {
						t.Error(err)
					}
				}
				var no *mount.Refused
				mu.Lock()
				switch {
				case err == nil:
					let++
				case errors.As(err, &no):
					refused++
				case !hangsUp:
					t.Errorf("%s: %v", c.Member, err)
				}
				mu.Unlock()
				time.Sleep(time.Duration(luck.IntN(150)) * time.Millisecond)
			}
		})
	}
	all.Wait()
	if err := b.put("abortslew", nil); err != nil {
		t.Error(err)
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, text := range k.wrong {
		t.Error(text)
	}
	if c := b.sim.Contacts(); c.Count > 0 {
		t.Errorf("%d contacts: %+v", c.Count, c.List)
	}
	begun := 0
	for _, member := range setsInMotion {
		begun += k.came[member]
	}
	if begun == 0 || let == 0 || refused == 0 {
		t.Errorf("%d went through, %d were refused, to the mount came %v: that tries nothing", let, refused, k.came)
	}
	t.Logf("%d went through, %d were refused; to the mount came %v; %+v", let, refused, k.came, b.w.Status().Counts)
}

// draw is what a client does next.
func (b *bench) draw(luck *rand.Rand) alpaca.Call {
	between := func(from, to float64) float64 { return from + luck.Float64()*(to-from) }
	switch n := luck.IntN(100); {
	case n < 25:
		return alpaca.Put("slewtocoordinatesasync", b.place(deg(between(56, 70), between(38, 52))))
	case n < 35:
		return alpaca.Put("slewtocoordinatesasync", b.place(deg(between(-160, 160), between(-150, 150))))
	case n < 45:
		return alpaca.Put("slewtocoordinatesasync", b.place(deg(between(95, 120), between(35, 55)))) // about where the camera meets the pier
	case n < 46:
		return alpaca.Put("slewtocoordinates", b.place(deg(between(30, 130), between(0, 80))))
	case n < 49:
		return alpaca.Put("moveaxis", alpaca.Args{"Axis": luck.IntN(2), "Rate": between(-2, 2)})
	case n < 52:
		return alpaca.Put("moveaxis", alpaca.Args{"Axis": luck.IntN(2), "Rate": 0.0})
	case n < 53:
		return alpaca.Put("abortslew", nil)
	case n < 64:
		return alpaca.Put("tracking", alpaca.Args{"Tracking": n > 53})
	case n < 66:
		return alpaca.Put("park", nil)
	case n < 72:
		return alpaca.Put("unpark", nil)
	case n < 76:
		return alpaca.Put("sideofpier", alpaca.Args{"SideOfPier": luck.IntN(2)})
	case n < 80:
		return alpaca.Put("synctocoordinates", b.place(deg(between(-160, 160), between(-150, 150))))
	case n < 84:
		return alpaca.Put("pulseguide", alpaca.Args{"Direction": luck.IntN(4), "Duration": luck.IntN(200)})
	}
	return alpaca.Get([]string{"slewing", "devicestate", "rightascension", "sideofpier"}[luck.IntN(4)])
}
