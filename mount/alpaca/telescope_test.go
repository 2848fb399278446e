package alpaca

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-12*(1+math.Abs(want))) {
		t.Errorf("%s: %.15g, want %.15g", what, got, want)
	}
}

// checkReading compares with newFake's values.
func checkReading(t *testing.T, r mount.Reading) {
	t.Helper()
	near(t, "RA", r.RA, axes.FromHours(5.5))
	near(t, "Dec", r.Dec, axes.Rad(-12.25))
	near(t, "sidereal time", r.Sidereal, axes.FromHours(4))
	near(t, "latitude", r.Lat, axes.Rad(48.5))
	near(t, "longitude", r.Lon, axes.Rad(11.25))
	if r.Equinox != mount.OfDate || r.Place != (sky.Equatorial{RA: r.RA, Dec: r.Dec}) {
		t.Errorf("equinox %v, place %v", r.Equinox, r.Place)
	}
	if !r.SideSaid || r.Side != axes.West {
		t.Errorf("side %v, said %v", r.Side, r.SideSaid)
	}
	if r.Tracking != mount.Yes || r.Slewing != mount.No || r.Parked != mount.No || r.AtHome != mount.No {
		t.Errorf("tracking %v, slewing %v, parked %v, at home %v", r.Tracking, r.Slewing, r.Parked, r.AtHome)
	}
	if want := time.Date(2026, 3, 1, 21, 4, 5, 678e6, time.UTC); !r.UTCSaid || !r.UTC.Equal(want) {
		t.Errorf("UTC %v, said %v", r.UTC, r.UTCSaid)
	}
	if !r.SiderealSaid || !r.SiteSaid || !r.RatesSaid || r.RARate != 0 || r.DecRate != 0 {
		t.Errorf("sidereal time said %v, site said %v, rates %g %g said %v", r.SiderealSaid, r.SiteSaid, r.RARate, r.DecRate, r.RatesSaid)
	}
	if len(r.Missing) != 0 {
		t.Errorf("missing: %v", r.Missing)
	}
	if now := time.Now(); r.Asked.After(r.Got) || r.Got.After(now) || now.Sub(r.Asked) > time.Minute {
		t.Errorf("asked %v, got %v", r.Asked, r.Got)
	}
}

func TestRead(t *testing.T) {
	m := openFake(t, newFake(3))
	for range 2 * len(resting) { // each look takes another one of the members that hardly change
		r, err := m.Read(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		checkReading(t, r)
	}
}

// With devicestate one call brings what changes. What it leaves out is asked for by itself.
func TestReadState(t *testing.T) {
	f := newFake(4)
	f.set("devicestate", stateJSON("RightAscension", 5.5, "Declination", -12.25, "SideOfPier", 1, "SiderealTime", 4.0,
		"Slewing", false, "Tracking", true, "UTCDate", "2026-03-01T21:04:05.678Z", "AtHome", false, "TimeStamp", "2026-03-01T21:04:05Z"))
	m := openFake(t, f)
	for _, member := range []string{"rightascension", "declination", "sideofpier", "siderealtime", "utcdate", "tracking", "slewing",
		"athome"} {
		f.set(member, errors.New("asked for though it was in the state"))
	}
	r, err := m.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	checkReading(t, r)

	f.set("atpark", true)
	if r, err = m.Read(t.Context()); err != nil || r.Parked != mount.Yes {
		t.Errorf("parked %v, %v", r.Parked, err)
	}
}

// A state that the driver stamps with the time of its making is told with that, be it in a zone of its own. Without the place in it, it is
// of something else.
func TestStateStamp(t *testing.T) {
	at := time.Date(2026, 3, 1, 21, 4, 5, 500e6, time.UTC)
	for _, c := range []struct {
		stamp  any
		ra     string
		said   bool
		misses int
	}{
		{"2026-03-01T21:04:05.5Z", "RightAscension", true, 0},
		{"2026-03-01T22:04:05.5+01:00", "RightAscension", true, 0},
		{"2026-03-01T21:04:05.5000000", "RightAscension", true, 0},
		{"2026-03-01T21:04:05.5Z", "GuideRateDeclination", false, 0},
		{"yesterday", "RightAscension", false, 1},
		{5, "RightAscension", false, 1},
	} {
		f := newFake(4)
		f.set("devicestate", stateJSON(c.ra, 5.5, "TimeStamp", c.stamp))
		r, err := openFake(t, f).Read(t.Context())
		if err != nil || r.StampSaid != c.said || c.said && !r.Stamp.Equal(at) || len(r.Missing) != c.misses {
			t.Errorf("%v: stamp %v, said %v, missing %v, %v", c.stamp, r.Stamp, r.StampSaid, r.Missing, err)
		}
	}
}

// A devicestate that is no use leads back to single members, and is told.
func TestReadBadState(t *testing.T) {
	for _, bad := range []any{stateJSON("Tracking", true, "tracking", true), stateJSON()[:0], mount.ErrLacks, errors.New("stuck")} {
		f := newFake(4)
		f.set("devicestate", bad)
		m := openFake(t, f)
		r, err := m.Read(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		checkReading(t, r)
		if notes := m.Describe().Notes; len(notes) != 1 || !strings.HasPrefix(notes[0], "devicestate: ") {
			t.Errorf("notes %q", notes)
		}
	}
	// A wrong value in it is the member's own fault.
	f := newFake(4)
	f.set("devicestate", stateJSON("Tracking", "yes", "SideOfPier", 5))
	r, err := openFake(t, f).Read(t.Context())
	if err != nil || r.Tracking != mount.Unsaid || r.SideSaid || len(r.Missing) != 2 {
		t.Errorf("%+v, %v", r, err)
	}
}

// What a driver lacks or reports wrongly: said to be missing, never guessed, and shown in the description.
func TestMissing(t *testing.T) {
	for _, tt := range []struct {
		member string
		value  any
		gone   func(mount.Reading) bool
	}{
		{"sideofpier", mount.ErrLacks, func(r mount.Reading) bool { return !r.SideSaid }},
		{"sideofpier", -1, func(r mount.Reading) bool { return !r.SideSaid }},
		{"sideofpier", 2, func(r mount.Reading) bool { return !r.SideSaid }},
		{"sideofpier", "west", func(r mount.Reading) bool { return !r.SideSaid }},
		{"siderealtime", mount.ErrLacks, func(r mount.Reading) bool { return !r.SiderealSaid }},
		{"siderealtime", 24.5, func(r mount.Reading) bool { return !r.SiderealSaid }},
		{"siderealtime", "4.0", func(r mount.Reading) bool { return !r.SiderealSaid }},
		{"utcdate", mount.ErrLacks, func(r mount.Reading) bool { return !r.UTCSaid }},
		{"utcdate", "2026-03-01T21:04:05", func(r mount.Reading) bool { return !r.UTCSaid }},
		{"utcdate", "2026-03-01T21:04:05+01:00", func(r mount.Reading) bool { return !r.UTCSaid }},
		{"utcdate", "01.03.2026 21:04", func(r mount.Reading) bool { return !r.UTCSaid }},
		{"tracking", mount.ErrState, func(r mount.Reading) bool { return r.Tracking == mount.Unsaid }},
		{"tracking", "True", func(r mount.Reading) bool { return r.Tracking == mount.Unsaid }},
		{"slewing", mount.ErrLacks, func(r mount.Reading) bool { return r.Slewing == mount.Unsaid }},
		{"atpark", &HTTPError{404, ""}, func(r mount.Reading) bool { return r.Parked == mount.Unsaid }},
		{"athome", &HTTPError{500, ""}, func(r mount.Reading) bool { return r.AtHome == mount.Unsaid }},
		{"equatorialsystem", mount.ErrLacks, func(r mount.Reading) bool { return r.Equinox == mount.UnknownEquinox }},
		{"equatorialsystem", 0, func(r mount.Reading) bool { return r.Equinox == mount.UnknownEquinox }},
		{"equatorialsystem", 4, func(r mount.Reading) bool { return r.Equinox == mount.UnknownEquinox }},
		{"sitelatitude", 91.0, func(r mount.Reading) bool { return !r.SiteSaid }},
		{"sitelongitude", mount.ErrNotSet, func(r mount.Reading) bool { return !r.SiteSaid }},
		{"trackingrate", 4, func(r mount.Reading) bool { return !r.RatesSaid }},
		{"declinationrate", mount.ErrState, func(r mount.Reading) bool { return !r.RatesSaid }},
		// A driver without this adds nothing to its rate by it: the rates are still said.
		{"rightascensionrate", mount.ErrLacks, func(r mount.Reading) bool { return r.RatesSaid }},
	} {
		f := newFake(3)
		f.set(tt.member, tt.value)
		m := openFake(t, f)
		r, err := m.Read(t.Context())
		if err != nil {
			t.Errorf("%s %v: %v", tt.member, tt.value, err)
			continue
		}
		if !tt.gone(r) || len(r.Missing) != 1 || r.Missing[0].Member != tt.member || r.Missing[0].Why == "" {
			t.Errorf("%s %v: %+v", tt.member, tt.value, r)
		}
		if notes := m.Describe().Notes; len(notes) != 1 || !strings.HasPrefix(notes[0], tt.member+": ") {
			t.Errorf("%s %v: notes %q", tt.member, tt.value, notes)
		}
	}
}

// Without a place there is no reading.
func TestNoPlace(t *testing.T) {
	for _, tt := range []struct {
		member string
		value  any
		kind   error
	}{
		{"rightascension", 24.1, mount.ErrAnswer},
		{"rightascension", -0.1, mount.ErrAnswer},
		{"declination", 90.1, mount.ErrAnswer},
		{"declination", "0", mount.ErrAnswer},
		{"declination", mount.ErrLacks, mount.ErrLacks},
		{"rightascension", mount.ErrState, mount.ErrState},
		{"slewing", mount.ErrNotConnected, mount.ErrNotConnected},
	} {
		f := newFake(3)
		m := openFake(t, f)
		f.set(tt.member, tt.value)
		if r, err := m.Read(t.Context()); !errors.Is(err, tt.kind) || !r.Asked.IsZero() {
			t.Errorf("%s %v: %v, %v", tt.member, tt.value, r, err)
		}
	}
}

// The standard: side of pier 1 is a mount on the west side, looking east; 0 on the east side, looking west (REFERENCES). The
// project's sides, by geometry: on which side of the polar axis the saddle is, and where the tube looks, three hours from the
// meridian on the half of the sky that the side works.
func TestSidesByGeometry(t *testing.T) {
	for pier, hourAngle := range map[int]float64{0: 3, 1: -3} {
		side, said, err := sideOf(pier)
		if !said || err != nil {
			t.Fatalf("%d: %v, %v", pier, said, err)
		}
		west := pier == 1
		for _, lat := range []float64{-50, -30, 20, 50} {
			head := axes.NewHead(axes.Rad(lat), math.Abs(axes.Rad(lat)), 0, r3.Vec{})
			for _, dec := range []float64{-20, 0, 20} {
				at := head.Angles(axes.Pose{Side: side, HourAngle: axes.FromHours(hourAngle), Dec: axes.Rad(dec)})
				if saddle := head.A(at.RA); (saddle.X < 0) != west {
					t.Errorf("side of pier %d, latitude %g: the saddle is at x %g", pier, lat, saddle.X)
				}
				if u := head.Pointing(at); (u.X > 0) != west {
					t.Errorf("side of pier %d, latitude %g: the tube looks to x %g", pier, lat, u.X)
				}
			}
		}
	}
}

// A mount of J2000 gives catalogue places and wants them.
func TestJ2000Mount(t *testing.T) {
	f := newFake(3)
	f.set("equatorialsystem", 2)
	m := openFake(t, f)
	r, err := m.Read(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	want := sky.J2000{RA: axes.FromHours(5.5), Dec: axes.Rad(-12.25)}.Apparent(r.Asked)
	if r.Equinox != mount.OfJ2000 || sky.Separation(want, r.Place) > 1e-9 {
		t.Errorf("%v, %v, want %v", r.Equinox, r.Place, want)
	}
	if moved := axes.Deg(sky.Separation(r.Place, sky.Equatorial{RA: r.RA, Dec: r.Dec})); moved < 0.2 || moved > 2 {
		t.Errorf("precession since J2000: %g°", moved)
	}
	if err := m.Slew(t.Context(), r.Place, nil); err != nil {
		t.Fatal(err)
	}
	var ra, dec float64
	if _, err := fmt.Sscanf(f.put(), "slewtocoordinatesasync RightAscension=%g Declination=%g", &ra, &dec); err != nil {
		t.Fatal(err, f.put())
	}
	sent := sky.Equatorial{RA: axes.FromHours(ra), Dec: axes.Rad(dec)}
	if sky.Separation(sent, sky.Equatorial{RA: r.RA, Dec: r.Dec}) > 1e-9 {
		t.Errorf("slew to %g h, %g°", ra, dec)
	}
}

func TestRates(t *testing.T) {
	const arcsec = math.Pi / 180 / 3600
	for _, tt := range []struct {
		drive     int
		ra, dec   float64 // seconds a sidereal second, ″/s
		wantRA    float64 // rad/s
		wantDec   float64
		tolerance float64
	}{
		{0, 0, 0, 0, 0, 0},
		{2, 0, 0, 2 * math.Pi / (365.2422 * 86400), 0, 1e-5 * arcsec}, // the Sun: a turn a year, eastward
		{1, 0, 0, 2 * math.Pi / (27.32 * 86400), 0, 0.25 * arcsec},    // the Moon: a turn a month, 0.55″ a second at the mean
		{0, 1, -2, sky.SiderealRate, -2 * arcsec, 1e-18},
	} {
		f := newFake(3)
		f.set("trackingrate", tt.drive)
		f.set("rightascensionrate", tt.ra)
		f.set("declinationrate", tt.dec)
		r, err := openFake(t, f).Read(t.Context())
		if err != nil || !r.RatesSaid || math.Abs(r.RARate-tt.wantRA) > tt.tolerance || math.Abs(r.DecRate-tt.wantDec) > tt.tolerance {
			t.Errorf("%+v: %g, %g, %v", tt, r.RARate, r.DecRate, err)
		}
	}
}

func TestCommands(t *testing.T) {
	f := newFake(3)
	m := openFake(t, f)
	ctx := t.Context()
	east, west := axes.East, axes.West
	place := sky.Equatorial{RA: -1e-18, Dec: axes.Rad(45)}
	for _, tt := range []struct {
		do   func() error
		want string
	}{
		{func() error { return m.SetTracking(ctx, false) }, "tracking Tracking=false"},
		{func() error { return m.SetTracking(ctx, true) }, "tracking Tracking=true"},
		{func() error { return m.Abort(ctx) }, "abortslew"},
		{func() error { return m.ZeroRates(ctx) }, "moveaxis Axis=0 Rate=0; moveaxis Axis=1 Rate=0"},
		{func() error { return m.Park(ctx) }, "park"},
		{func() error { return m.Unpark(ctx) }, "unpark"},
		{func() error { return m.Slew(ctx, place, nil) }, "slewtocoordinatesasync RightAscension=0 Declination=45"},
		{func() error { return m.Slew(ctx, place, &east) }, "slewtocoordinatesasync RightAscension=0 Declination=45"},
	} {
		f.mu.Lock()
		f.puts = nil
		f.mu.Unlock()
		if err := tt.do(); err != nil || f.put() != tt.want {
			t.Errorf("%q, %v; want %q", f.put(), err, tt.want)
		}
	}
	f.puts = nil
	if err := m.Slew(ctx, place, &west); !errors.Is(err, mount.ErrSide) || f.put() != "" {
		t.Errorf("to the other side: %v, %q", err, f.put())
	}
	f.set("destinationsideofpier", -1)
	if err := m.Slew(ctx, place, &west); !errors.Is(err, mount.ErrLacks) || f.put() != "" {
		t.Errorf("to an unknown side: %v, %q", err, f.put())
	}
	f.set("put abortslew", mount.ErrParked)
	if err := m.Abort(ctx); !errors.Is(err, mount.ErrParked) {
		t.Errorf("abort: %v", err)
	}
	// One axis that refuses does not keep the other one moving.
	f.puts = nil
	f.set("put moveaxis", mount.ErrValue)
	if err := m.ZeroRates(ctx); !errors.Is(err, mount.ErrValue) || f.put() != "moveaxis Axis=0 Rate=0; moveaxis Axis=1 Rate=0" {
		t.Errorf("rates: %v, %q", err, f.put())
	}
}

// An old driver that answers park only when it is parked.
func TestParkThatBlocks(t *testing.T) {
	for _, moves := range []bool{true, false} {
		f := newFake(3)
		_, host := serveFake(t, deviceFunc(func(ctx context.Context, c Call) (any, error) {
			if c.Member == "park" {
				<-ctx.Done()
				return nil, ctx.Err()
			}
			return f.Call(ctx, c)
		}))
		m, err := OpenTelescope(t.Context(), host, 0)
		if err != nil {
			t.Fatal(err)
		}
		host.Deadline = 150 * time.Millisecond
		f.set("slewing", moves)
		if err := m.Park(t.Context()); (err == nil) != moves || err != nil && !errors.Is(err, mount.ErrLink) {
			t.Errorf("moves %v: %v", moves, err)
		}
	}
}

func TestOpen(t *testing.T) {
	f := newFake(3)
	f.set("connected", false)
	f.set("canmoveaxis", mount.ErrState)
	s, _ := serveFake(t, f)
	m, err := Open(t.Context(), "alpaca://"+s.Listener.Addr().String()+"/0")
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	if f.put() != "connected Connected=true" {
		t.Errorf("put %q", f.put())
	}
	d := m.Describe()
	want := mount.Can{SetTracking: true, Slew: true, Park: true, Unpark: true, TellSide: true, TellSlewEnd: true}
	if d.Can != want || d.Protocol != "alpaca" || d.Name != "a mount of the tests" || d.Driver != "made up" || d.Version != "0.1" ||
		d.Interface != 3 || d.Equinox != mount.OfDate || len(d.Notes) != 1 || !strings.HasPrefix(d.Notes[0], "canmoveaxis: ") {
		t.Errorf("%+v", d)
	}

	for _, address := range []string{"", "alpaca://", "alpaca://127.0.0.1/0", "alpaca://127.0.0.1:1", "alpaca://127.0.0.1:1/x",
		"alpaca://127.0.0.1:1/-1", "alpaca://127.0.0.1:1/0/1", "indi://127.0.0.1:1/0", "alpaca://:1/0", "alpaca://u@127.0.0.1:1/0"} {
		if _, err := Open(t.Context(), address); err == nil || !strings.Contains(err.Error(), "alpaca://HOST:PORT/N") {
			t.Errorf("%s: %v", address, err)
		}
	}
	if _, err := Open(t.Context(), "alpaca://"+s.Listener.Addr().String()+"/7"); !errors.Is(err, mount.ErrLacks) {
		t.Errorf("a device that is not there: %v", err)
	}
	f.set("connected", mount.ErrNotConnected)
	if _, err := Open(t.Context(), "alpaca://"+s.Listener.Addr().String()+"/0"); !errors.Is(err, mount.ErrNotConnected) {
		t.Errorf("a driver that does not connect: %v", err)
	}
}

func TestOpenOnIPv6(t *testing.T) {
	s, err := NewServer(Info{}, Served{Listed{"a", "Telescope", 0, "x"}, newFake(3)})
	if err != nil {
		t.Fatal(err)
	}
	l := listenOn6(t)
	go func() { _ = Serve(t.Context(), l, s) }()
	m, err := Open(t.Context(), "alpaca://"+l.Addr().String()+"/0")
	if err != nil {
		t.Fatal(err)
	}
	if d := m.Describe(); d.Address != "alpaca://"+l.Addr().String()+"/0" {
		t.Errorf("address %s", d.Address)
	}
}

// A driver that restarts: the error says so, and Connect brings it back with what it can now.
func TestConnectAgain(t *testing.T) {
	f := newFake(3)
	m := openFake(t, f)
	f.set("connected", false)
	f.set("rightascension", mount.ErrNotConnected)
	if _, err := m.Read(t.Context()); !errors.Is(err, mount.ErrNotConnected) {
		t.Fatal(err)
	}
	f.set("rightascension", 5.5)
	f.set("equatorialsystem", 2)
	if err := m.Connect(t.Context()); err != nil {
		t.Fatal(err)
	}
	if r, err := m.Read(t.Context()); err != nil || r.Equinox != mount.OfJ2000 || m.Describe().Equinox != mount.OfJ2000 {
		t.Errorf("%v, %v", r.Equinox, err)
	}
}

func TestNoteOfATelescopeThatCannotStop(t *testing.T) {
	f := newFake(3)
	f.set("cansettracking", false)
	if notes := openFake(t, f).Describe().Notes; len(notes) != 1 || !strings.Contains(notes[0], "cannot be stopped") {
		t.Errorf("notes %q", notes)
	}
}

// Several clients, each with several goroutines, at once. The race detector looks on.
func TestManyClients(t *testing.T) {
	f := newFake(4)
	s, _ := serveFake(t, f)
	var all sync.WaitGroup
	for range 4 {
		m, err := OpenTelescope(t.Context(), hostOf(t, s), 0)
		if err != nil {
			t.Fatal(err)
		}
		for g := range 4 {
			all.Go(func() {
				for range 10 {
					r, err := m.Read(t.Context())
					if err != nil || r.RA != axes.FromHours(5.5) {
						t.Error(r, err)
					}
					if err := m.SetTracking(t.Context(), g%2 == 0); err != nil {
						t.Error(err)
					}
					_ = m.Describe()
				}
			})
		}
	}
	all.Wait()
}
