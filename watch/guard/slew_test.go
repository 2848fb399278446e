package guard

import (
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount/alpaca"
	"legroom/watch"
)

var clockTime = regexp.MustCompile(`at \d\d:\d\d:\d\d \w+: `)

var hadRoom = regexp.MustCompile(`no room where it ends on side west: .*It had room until \d\d:\d\d: take another target, or the other side$`)

// longestMessage is what is left of an error on its way to a client, bytes.
const longestMessage = 200

// into is where the camera meets the pier, on the side that the mount takes.
var into = deg(110, 45)

// A slew that is proven goes through and runs on its path; one into the pier is answered with the standard's error, the parts
// and the time, and the mount stays where it is, whichever way it is asked for.
func TestSlews(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(80, 45), Options{}, nil)
	if err := b.put("slewtocoordinatesasync", b.place(deg(70, 60))); err != nil {
		t.Fatal(err)
	}
	if b.get("slewing") != true {
		t.Error("an accepted slew is not under way")
	}
	b.stands()
	s := b.w.Status()
	if d := math.Abs(*s.Sample.DecAxisDeg - 60); d > 0.1 || s.Counts.Unprotected != 0 || s.Counts.Stops != 0 || len(s.Blind) > 0 {
		t.Errorf("%v° off, %+v %s %v", d, s.Counts, s.Why, s.BlindWhy)
	}
	for _, member := range []string{"slewtocoordinates", "slewtocoordinatesasync", "slewtotarget", "slewtotargetasync"} {
		args := b.place(into)
		if strings.Contains(member, "target") {
			for name, v := range args {
				if err := b.put("target"+strings.ToLower(name), alpaca.Args{"Target" + name: v}); err != nil {
					t.Fatal(err)
				}
			}
			args = nil
		}
		text, is := no(b.put(member, args))
		if !is || !strings.Contains(text, "camera") || !strings.Contains(text, "pier") || !clockTime.MatchString(text) {
			t.Errorf("%s: %s", member, text)
		}
		// The side that it would have ended on, since when there is no room, and what would be right.
		if !hadRoom.MatchString(text) || len(text) > longestMessage {
			t.Errorf("%s, %d bytes: %s", member, len(text), text)
		}
		if b.sim.State().Slewing {
			t.Fatalf("%s: the mount slews", member)
		}
	}
	if err := b.put("slewtocoordinates", b.place(deg(75, 60))); err != nil {
		t.Error(err)
	}
	if b.sim.State().Slewing {
		t.Error("answered before its end")
	}
	// The owner hears of it, and of a stop nothing is left to do.
	heard := 0
	for _, e := range b.w.Events(0) {
		if e.Key == "guard" && strings.Contains(e.Text, "camera") {
			heard++
		}
	}
	if heard == 0 {
		t.Error("no event")
	}
	b.w.Stop()
	if text, is := no(b.put("slewtocoordinatesasync", b.place(deg(70, 60)))); !is || !strings.Contains(text, "stop") {
		t.Errorf("after the owner's stop: %s", text)
	}
}

// A slew by altitude and azimuth is one to the place that stands there now, tracking off.
func TestSlewAltAz(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(80, 45), Options{}, nil)
	level := b.level
	if err := b.put("tracking", alpaca.Args{"Tracking": false}); err != nil {
		t.Fatal(err)
	}
	if text, is := no(b.put("slewtoaltazasync", level(into))); !is || !strings.Contains(text, "camera") {
		t.Error(text)
	}
	if text, is := no(b.put("slewtoaltazasync", alpaca.Args{"Altitude": 3.0, "Azimuth": 90.0})); !is || !strings.Contains(text, "refraction") {
		t.Error(text)
	}
	if err := b.put("slewtoaltazasync", level(deg(70, 50))); err != nil {
		t.Fatal(err)
	}
	b.stands()
	if at := b.sim.State().Believed; math.Hypot(at.RA-axes.Rad(70), at.Dec-axes.Rad(50)) > axes.Rad(0.3) || b.w.Status().Counts.Stops > 0 {
		t.Errorf("%.2f° %.2f°, %s", axes.Deg(at.RA), axes.Deg(at.Dec), b.w.Status().Why)
	}
}

// Where the straight slew is refused and the owner allows it, the mount is led round; until the end of the whole way it counts
// as slewing, and an abort ends all of it.
func TestAround(t *testing.T) {
	t.Parallel()
	from, to := deg(100, 20), deg(108, 110)
	b := newBench(t, from, Options{}, nil)
	if text, is := no(b.put("slewtocoordinatesasync", b.place(to))); !is || !strings.Contains(text, "room where it ends on side west, but not on the way: ") ||
		!strings.HasSuffix(text, "start the watch with --around") || len(text) > longestMessage {
		t.Fatalf("straight, %d bytes: %s", len(text), text)
	}
	b = newBench(t, from, Options{Around: true}, nil)
	if err := b.put("slewtocoordinatesasync", b.place(to)); err != nil {
		t.Fatal(err)
	}
	if b.get("slewing") != true {
		t.Error("the way has begun, and nothing slews")
	}
	if text, is := no(b.put("slewtocoordinatesasync", b.place(from))); !is || !strings.Contains(text, "way") {
		t.Errorf("in the middle of a way: %s", text)
	}
	ended := b.until(30*time.Second, func() bool { return b.get("slewing") == false })
	at, s := b.sim.State().Believed, b.w.Status()
	if !ended || math.Abs(at.Dec-to.Dec) > axes.Rad(0.2) || s.Counts.Stops > 0 || s.Counts.Unprotected > 0 || b.sim.Contacts().Count > 0 {
		t.Errorf("ended %v at %.2f° %.2f°: %s %+v", ended, axes.Deg(at.RA), axes.Deg(at.Dec), s.Why, s.Counts)
	}
	b = newBench(t, from, Options{Around: true}, nil)
	if err := b.put("slewtocoordinatesasync", b.place(to)); err != nil {
		t.Fatal(err)
	}
	if err := b.put("abortslew", nil); err != nil {
		t.Fatal(err)
	}
	b.stands()
	stood := b.sim.State().Believed
	time.Sleep(time.Second)
	if at := b.sim.State().Believed; math.Hypot(at.RA-stood.RA, at.Dec-stood.Dec) > axes.Rad(0.02) {
		t.Errorf("goes on after an abort: %v, %v", stood, at)
	}
}

func TestParkHomeFlip(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(30, 30), Options{}, nil)
	if text, is := no(b.put("sideofpier", alpaca.Args{"SideOfPier": 5})); is || !strings.Contains(text, "give 0 to 1") {
		t.Error(text)
	}
	if err := b.put("park", nil); err != nil {
		t.Fatal(err)
	}
	b.stands()
	if !b.until(5*time.Second, func() bool { return b.w.Status().Sample.Parked == "yes" }) || b.get("atpark") != true {
		t.Error("not parked")
	}
	if err := b.put("park", nil); err != nil {
		t.Errorf("parked already: %v", err)
	}
	if err := b.put("unpark", nil); err != nil {
		t.Error(err)
	}
	// West of two hours past the meridian this mount goes to side west only.
	if err := b.put("slewtocoordinates", b.place(deg(70, 60))); err != nil {
		t.Fatal(err)
	}
	if err := b.put("findhome", nil); err != nil {
		t.Error(err)
	}
	if b.get("slewing") != true {
		t.Error("not on the way home")
	}
}

// A park that would lead through the pier is refused and alarms; where the owner allows a way round, the mount is led on it.
func TestParkRound(t *testing.T) {
	t.Parallel()
	b := newBench(t, deg(117.6, 66), Options{}, nil)
	if text, is := no(b.put("park", nil)); !is || !strings.Contains(text, "camera") {
		t.Errorf("park through the pier: %s", text)
	}
	alarm := false
	for _, e := range b.w.Events(0) {
		alarm = alarm || e.Key == "guard" && e.Level == watch.Alarm
	}
	if !alarm {
		t.Error("a park that is refused is no alarm")
	}
	b.guard.o.Around = true
	if err := b.put("park", nil); err != nil {
		t.Fatal(err)
	}
	if !b.w.Status().OnWay || b.get("slewing") != true {
		t.Errorf("not on the way to park: %+v", b.w.Status().Alarms)
	}
}

// The other way round than axes.AltAz of axes.Direction, over the sky.
func TestFromAltAz(t *testing.T) {
	seed := rand.Uint64()
	t.Log("seed", seed)
	r := rand.New(rand.NewPCG(seed, 0))
	for range 2000 {
		lat, h, d := math.Asin(2*r.Float64()-1), (2*r.Float64()-1)*math.Pi, math.Asin(2*r.Float64()-1)
		alt, az := axes.AltAz(axes.Direction(lat, h, d))
		h2, d2 := fromAltAz(lat, alt, az)
		if off := math.Hypot(axes.Wrap(h2-h)*math.Cos(d), d2-d); off > 1e-7 {
			t.Fatalf("latitude %g, hour angle %g, declination %g: %g, %g", lat, h, d, h2, d2)
		}
	}
}
