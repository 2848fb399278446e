package guard

import (
	"context"
	"errors"
	"math/rand/v2"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/mount/alpaca"
)

// Several clients that do what they like through the guard, at once: nothing comes to the mount that a look at the way
// itself finds not free, or while another command or a stop is under way; no parts touch; every answer is one of the
// standard's; and nothing is left over.
func TestClientsAtRandom(t *testing.T) {
	theMap(t)
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	before := runtime.NumGoroutine()
	t.Run("clients", func(t *testing.T) {
		t.Run("straight", func(t *testing.T) { t.Parallel(); clientsAtRandom(t, seed, deg(60, 45), Options{}) })
		t.Run("around", func(t *testing.T) { t.Parallel(); clientsAtRandom(t, seed+1, roundFrom, Options{Around: true}) })
	})
	for end := time.Now().Add(5 * time.Second); runtime.NumGoroutine() > before; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			stacks := make([]byte, 1<<16)
			t.Fatalf("%d goroutines, %d before:\n%s", runtime.NumGoroutine(), before, stacks[:runtime.Stack(stacks, true)])
		}
	}
}

// Where the straight slew is refused, and a way over waypoints is found.
var roundFrom, roundTo = deg(100, 20), deg(108, 110)

func clientsAtRandom(t *testing.T, seed uint64, at axes.Angles, o Options) {
	k := &gatekeeper{came: map[string]int{}}
	b := newBenchBehind(t, at, o, nil, func(b *bench, tel mount.Telescope) mount.Telescope {
		k.b = b
		return legs{tel, k}
	})
	k.Remote = b.real
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
				calls := b.draw(luck)
				c := calls[len(calls)-1]
				for _, first := range calls[:len(calls)-1] {
					if _, err := d.Call(t.Context(), first); err != nil {
						t.Errorf("%s: %v", first.Member, err)
					}
				}
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

// draw is what a client does next, one call after the other.
func (b *bench) draw(luck *rand.Rand) []alpaca.Call {
	between := func(from, to float64) float64 { return from + luck.Float64()*(to-from) }
	one := func(member string, args alpaca.Args) []alpaca.Call { return []alpaca.Call{alpaca.Put(member, args)} }
	slew := func(at axes.Angles) []alpaca.Call { return one("slewtocoordinatesasync", b.place(at)) }
	anywhere := func() axes.Angles { return deg(between(-160, 160), between(-150, 150)) }
	near := func() axes.Angles { return deg(between(56, 70), between(38, 52)) }
	switch n := luck.IntN(100); {
	case n < 12 && b.guard.o.Around:
		return slew(deg(axes.Deg(roundFrom.RA)+between(-2, 2), axes.Deg(roundFrom.Dec)+between(-2, 2)))
	case n < 24 && b.guard.o.Around:
		return slew(deg(axes.Deg(roundTo.RA)+between(-2, 2), axes.Deg(roundTo.Dec)+between(-2, 2)))
	case n < 18:
		return slew(near())
	case n < 25:
		return slew(anywhere())
	case n < 33:
		return slew(deg(between(95, 120), between(35, 55))) // about where the camera meets the pier
	case n < 34:
		return one("slewtocoordinates", b.place(deg(between(30, 130), between(0, 80))))
	case n < 42:
		place, member := b.place(anywhere()), "slewtotargetasync"
		if luck.IntN(8) == 0 {
			place, member = b.place(near()), "slewtotarget"
		}
		return []alpaca.Call{alpaca.Put("targetrightascension", alpaca.Args{"TargetRightAscension": place["RightAscension"]}),
			alpaca.Put("targetdeclination", alpaca.Args{"TargetDeclination": place["Declination"]}), alpaca.Put(member, nil)}
	case n < 50:
		to, member := b.level(near()), "slewtoaltazasync"
		if luck.IntN(2) == 0 {
			to = alpaca.Args{"Altitude": between(0, 90), "Azimuth": between(0, 360)}
		}
		if luck.IntN(8) == 0 {
			to, member = b.level(near()), "slewtoaltaz"
		}
		return append(one("tracking", alpaca.Args{"Tracking": false}), alpaca.Put(member, to)) // as the standard wants it
	case n < 53:
		return one("moveaxis", alpaca.Args{"Axis": luck.IntN(2), "Rate": between(-2, 2)})
	case n < 55:
		return one("moveaxis", alpaca.Args{"Axis": luck.IntN(2), "Rate": 0.0})
	case n < 58:
		return one("abortslew", nil)
	case n < 66:
		return one("tracking", alpaca.Args{"Tracking": n > 58})
	case n < 68:
		return one("park", nil)
	case n < 70:
		return one("findhome", nil)
	case n < 75:
		return one("unpark", nil)
	case n < 78:
		return one("sideofpier", alpaca.Args{"SideOfPier": luck.IntN(2)})
	case n < 81:
		return one("synctocoordinates", b.place(anywhere()))
	case n < 84:
		return one("pulseguide", alpaca.Args{"Direction": luck.IntN(4), "Duration": luck.IntN(200)})
	}
	return []alpaca.Call{alpaca.Get([]string{"slewing", "devicestate", "rightascension", "sideofpier"}[luck.IntN(4)])}
}
