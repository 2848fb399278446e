package indi

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/mount"
	"legroom/sky"
)

const second = time.Second

func TestOpenAndRead(t *testing.T) {
	s := newScript(t, whole...)
	tel := s.open()
	before := time.Now()
	r, err := tel.Read(within(t, 5*second))
	if err != nil {
		t.Fatal(err)
	}
	if r.Asked.Before(before) || r.Got.Before(r.Asked) {
		t.Errorf("asked %v, got %v", r.Asked, r.Got)
	}
	near := func(what string, got, want float64) {
		if math.Abs(got-want) > 1e-12 {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
	near("right ascension", r.RA, axes.FromHours(5.5))
	near("declination", r.Dec, axes.Rad(-0.25))
	near("latitude", r.Lat, axes.Rad(-33.5))
	near("longitude", r.Lon, axes.Rad(289.25-360))
	near("rate", r.RARate, 0)
	if r.Equinox != mount.OfDate || r.Place != (sky.Equatorial{RA: r.RA, Dec: r.Dec}) {
		t.Errorf("place %v of %v", r.Place, r.Equinox)
	}
	if !r.SideSaid || r.Side != axes.West || !r.SiteSaid || !r.RatesSaid {
		t.Errorf("side %v %v, site %v, rates %v", r.Side, r.SideSaid, r.SiteSaid, r.RatesSaid)
	}
	if r.Tracking != mount.Yes || r.Slewing != mount.No || r.Parked != mount.No || r.AtHome != mount.Unsaid {
		t.Errorf("tracking %v, slewing %v, parked %v, at home %v", r.Tracking, r.Slewing, r.Parked, r.AtHome)
	}
	// A clock that was never seen to run may be what it was once set to.
	if r.UTCSaid || r.SiderealSaid || !misses(r, timeUTC) || !misses(r, timeLST) || len(r.Missing) != 3 {
		t.Errorf("clocks %v %v, missing %v", r.UTCSaid, r.SiderealSaid, r.Missing)
	}
	d := tel.Describe()
	if d.Protocol != "indi" || d.Name != "M" || d.Driver != "made up" || d.Version != "0.1" || d.Equinox != mount.OfDate {
		t.Errorf("%+v", d)
	}
	if d.Can != (mount.Can{SetTracking: true, Slew: true, Park: true, Unpark: true, MoveAxis: [2]bool{true, true}, TellSide: true}) {
		t.Errorf("can %+v", d.Can)
	}
}

func misses(r mount.Reading, member string) bool {
	for _, m := range r.Missing {
		if m.Member == member && m.Why != "" {
			return true
		}
	}
	return false
}

// What a set says, and what is then read.
func TestStates(t *testing.T) {
	s := newScript(t, whole...)
	tel := s.open()
	fine := func(r mount.Reading) bool {
		return r.Tracking == mount.Yes && r.Slewing == mount.No && r.Parked == mount.No && r.SideSaid
	}
	const we = "MOTION_WEST MOTION_EAST"
	for _, tt := range []struct {
		name, set, undo string
		want            func(r mount.Reading) bool
	}{
		{"tracking off", setSwitch(trackState, "Idle", "TRACK_OFF", "TRACK_ON"), setSwitch(trackState, "Ok", "TRACK_ON", "TRACK_OFF"),
			func(r mount.Reading) bool { return r.Tracking == mount.No }},
		{"tracking not yet off", setSwitch(trackState, "Busy", "TRACK_OFF", "TRACK_ON"), setSwitch(trackState, "Ok", "TRACK_ON", "TRACK_OFF"),
			func(r mount.Reading) bool { return r.Tracking == mount.Unsaid && misses(r, trackState) }},
		{"tracking alert", setSwitch(trackState, "Alert", "TRACK_OFF", "TRACK_ON"), setSwitch(trackState, "Ok", "TRACK_ON", "TRACK_OFF"),
			func(r mount.Reading) bool { return r.Tracking == mount.Unsaid && misses(r, trackState) }},
		{"no side", setSwitch(pierSide, "Idle", "", "PIER_WEST PIER_EAST"), setSwitch(pierSide, "Ok", "PIER_WEST", "PIER_EAST"),
			func(r mount.Reading) bool { return !r.SideSaid && misses(r, pierSide) }},
		{"both sides", setSwitch(pierSide, "Ok", "PIER_WEST PIER_EAST", ""), setSwitch(pierSide, "Ok", "PIER_WEST", "PIER_EAST"),
			func(r mount.Reading) bool { return !r.SideSaid && misses(r, pierSide) }},
		{"side changing", setSwitch(pierSide, "Busy", "PIER_EAST", "PIER_WEST"), setSwitch(pierSide, "Ok", "PIER_WEST", "PIER_EAST"),
			func(r mount.Reading) bool { return !r.SideSaid && misses(r, pierSide) }},
		{"other side", setSwitch(pierSide, "Ok", "PIER_EAST", "PIER_WEST"), setSwitch(pierSide, "Ok", "PIER_WEST", "PIER_EAST"),
			func(r mount.Reading) bool { return r.SideSaid && r.Side == axes.East }},
		{"by hand", setSwitch(motionWE, "Busy", "MOTION_EAST", "MOTION_WEST"), setSwitch(motionWE, "Ok", "", we),
			func(r mount.Reading) bool { return r.Slewing == mount.Yes }},
		{"by hand, not said in the state", setSwitch(motionWE, "Idle", "MOTION_EAST", "MOTION_WEST"), setSwitch(motionWE, "Ok", "", we),
			func(r mount.Reading) bool { return r.Slewing == mount.Yes }},
		{"by hand, alert", setSwitch(motionWE, "Alert", "", we), setSwitch(motionWE, "Ok", "", we),
			func(r mount.Reading) bool { return r.Slewing == mount.Unsaid && misses(r, motionWE) }},
		{"parking", setSwitch(park, "Busy", "PARK", "UNPARK"), setSwitch(park, "Idle", "UNPARK", "PARK"),
			func(r mount.Reading) bool { return r.Parked == mount.No && r.Slewing == mount.Yes }},
		{"parked", setSwitch(park, "Ok", "PARK", "UNPARK"), setSwitch(park, "Idle", "UNPARK", "PARK"),
			func(r mount.Reading) bool { return r.Parked == mount.Yes && r.Slewing == mount.No }},
		{"park alert", setSwitch(park, "Alert", "PARK", "UNPARK"), setSwitch(park, "Idle", "UNPARK", "PARK"),
			func(r mount.Reading) bool { return r.Parked == mount.Unsaid && misses(r, park) }},
		{"custom rate", setSwitch(trackMode, "Ok", "TRACK_CUSTOM", "TRACK_SIDEREAL"), setSwitch(trackMode, "Ok", "TRACK_SIDEREAL", "TRACK_CUSTOM"),
			func(r mount.Reading) bool { // 15.041067 − 14.5 ″/s
				return r.RatesSaid && math.Abs(r.RARate*arcsecs-0.541067) < 1e-5 && math.Abs(r.DecRate*arcsecs-0.5) < 1e-9
			}},
		{"Moon", setSwitch(trackMode, "Ok", "TRACK_LUNAR", "TRACK_SIDEREAL"), setSwitch(trackMode, "Ok", "TRACK_SIDEREAL", "TRACK_LUNAR"),
			func(r mount.Reading) bool { return r.RatesSaid && math.Abs(r.RARate*arcsecs-0.356) < 1e-3 }},
		{"of another device", strings.ReplaceAll(setSwitch(trackState, "Ok", "TRACK_OFF", "TRACK_ON"), `"M"`, `"N"`), "", fine},
		{"unknown members", setSwitch(pierSide, "Ok", "PIER_NORTH", ""), "", fine},
		{"of another kind", `<setNumberVector device="M" name="TELESCOPE_PARK" state="Busy"><oneNumber name="PARK">1</oneNumber></setNumberVector>`, "", fine},
	} {
		s.say(tt.set)
		r, err := tel.Read(within(t, 5*second))
		if err != nil || !tt.want(r) {
			t.Errorf("%s: %+v, %v", tt.name, r, err)
		}
		s.say(tt.undo)
		if r, err := tel.Read(within(t, 5*second)); err != nil || !fine(r) {
			t.Errorf("after %s: %+v, %v", tt.name, r, err)
		}
	}
}

// The definition that answers a look carries its place.
func TestPlace(t *testing.T) {
	s := newScript(t, whole...)
	tel := s.open()
	redefine := func(from, to string) {
		s.do(func() { s.defs[2] = strings.Replace(defPlace, from, to, 1) })
	}
	for _, tt := range []struct {
		from, to string
		kind     error
	}{
		{"5:30:00", "24.5", mount.ErrAnswer},
		{"5:30:00", "-0.1", mount.ErrAnswer},
		{"5:30:00", "nan", mount.ErrAnswer},
		{"5:30:00", "", mount.ErrAnswer},
		{"-0:15:00", "90.1", mount.ErrAnswer},
		{`name="RA"`, `name="XX"`, mount.ErrLacks},
		{`state="Ok"`, `state="Alert" message="no line"`, mount.ErrRefused},
		{`state="Ok"`, `state="Splendid"`, mount.ErrAnswer},
	} {
		redefine(tt.from, tt.to)
		if r, err := tel.Read(within(t, 5*second)); !errors.Is(err, tt.kind) {
			t.Errorf("%s: %+v, %v, want %v", tt.to, r, err, tt.kind)
		}
	}
	redefine(`state="Ok"`, `state="Busy"`)
	if r, err := tel.Read(within(t, 5*second)); err != nil || r.Slewing != mount.Yes {
		t.Errorf("slewing %v, %v", r.Slewing, err)
	}
}

// A driver with J2000 coordinates alone.
func TestJ2000(t *testing.T) {
	s := newScript(t, defConnected, strings.Replace(defPlace, "_EOD_", "_", 1), defOnPlace)
	tel := s.open()
	r, err := tel.Read(within(t, 5*second))
	if err != nil {
		t.Fatal(err)
	}
	// Precession moves RA near the equator by about 0.0128° a year (DESIGN 2: a third of a degree in 26 years).
	moved := axes.Deg(axes.Wrap(r.Place.RA - r.RA))
	if r.Equinox != mount.OfJ2000 || moved < 0.3 || moved > 0.8 {
		t.Errorf("%v, %.3f°", r.Equinox, moved)
	}
	if len(r.Missing) < 7 || r.Tracking != mount.Unsaid || r.SideSaid || r.SiteSaid {
		t.Errorf("missing %v", r.Missing)
	}
	if d := tel.Describe(); d.Can != (mount.Can{Slew: true}) || !strings.Contains(strings.Join(d.Notes, "\n"), "cannot be stopped") {
		t.Errorf("%+v", d)
	}
	for name, err := range map[string]error{
		"SetTracking": tel.SetTracking(within(t, second), false),
		"Abort":       tel.Abort(within(t, second)),
		"ZeroRates":   tel.ZeroRates(within(t, second)),
		"Park":        tel.Park(within(t, second)),
		"Unpark":      tel.Unpark(within(t, second)),
	} {
		if !errors.Is(err, mount.ErrLacks) {
			t.Errorf("%s: %v", name, err)
		}
	}
	s.on(onPlace, setSwitch(onPlace, "Ok", "TRACK", "SLEW SYNC"))
	s.on(placeJ2000, strings.Replace(setPlace("Busy", "1", "2"), "_EOD_", "_", 1))
	target := sky.J2000{RA: axes.FromHours(3), Dec: axes.Rad(20)}
	if err := tel.Slew(within(t, 5*second), target.Apparent(time.Now()), nil); err != nil {
		t.Fatal(err)
	}
	var ra, dec float64
	if e, err := NewReader(strings.NewReader(numbers(s.last()))).Next(); err != nil || len(e.Members) != 2 {
		t.Fatalf("%q: %v", s.last(), err)
	} else {
		ra, dec = e.Members[0].Number, e.Members[1].Number
	}
	if math.Abs(ra-3)*15*3600 > 1 || math.Abs(dec-20)*3600 > 1 {
		t.Errorf("it was sent to %v h, %v°", ra, dec)
	}
}

// numbers turns a line of script.heard into a vector.
func numbers(line string) string {
	text := `<newNumberVector device="M" name="X">`
	for _, f := range strings.Fields(line)[1:] {
		name, value, _ := strings.Cut(f, "=")
		text += `<oneNumber name="` + name + `">` + value + `</oneNumber>`
	}
	return text + `</newNumberVector>`
}

// A clock counts once it was seen to run, and from then on also when it stands with all else: that is for the watch to find.
func TestClocks(t *testing.T) {
	s := newScript(t, whole...)
	tel := s.open()
	read := func(utc, lst string) mount.Reading {
		t.Helper()
		s.do(func() {
			s.defs[11] = strings.Replace(defUTC, "2026-03-01T21:04:05", utc, 1)
			s.defs[12] = strings.Replace(defLST, "4:30:00", lst, 1)
		})
		r, err := tel.Read(within(t, 5*second))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	// Once set by hand: two values, and the same ones again.
	for _, utc := range []string{"2026-03-01T21:04:05", "2026-03-01T23:00:00", "2026-03-01T23:00:00"} {
		if r := read(utc, "4:30:00"); r.UTCSaid || r.SiderealSaid {
			t.Fatalf("%s: a clock that was set was taken for one that runs", utc)
		}
	}
	for i := range ticks {
		read(fmt.Sprintf("2026-03-01T23:00:02.%d", i), fmt.Sprintf("4:30:02.%d", i))
	}
	r := read("2026-03-01T23:00:02.95Z", "4.5009")
	if !r.UTCSaid || !r.UTC.Equal(time.Date(2026, 3, 1, 23, 0, 2, 95e7, time.UTC)) {
		t.Errorf("UTC %v %v", r.UTC, r.UTCSaid)
	}
	if !r.SiderealSaid || math.Abs(r.Sidereal-axes.FromHours(4.5009)) > 1e-12 {
		t.Errorf("sidereal time %v %v", r.Sidereal, r.SiderealSaid)
	}
	if r := read("2026-03-01T23:00:02.95Z", "4.5009"); !r.UTCSaid || !r.SiderealSaid {
		t.Error("a clock that stands is no longer told")
	}
	if r := read("tomorrow", "25"); r.UTCSaid || r.SiderealSaid || !misses(r, timeUTC) || !misses(r, timeLST) {
		t.Errorf("%v, %v", r.UTC, r.Sidereal)
	}
}

// Commands, the answers of the driver, and what they come to.
func TestCommands(t *testing.T) {
	s := newScript(t, whole...)
	tel := s.open()
	const refusal = `<setSwitchVector device="M" name="TELESCOPE_TRACK_STATE" state="Alert" message="the motor is hot"/>`
	off, on := setSwitch(trackState, "Idle", "TRACK_OFF", "TRACK_ON"), setSwitch(trackState, "Ok", "TRACK_ON", "TRACK_OFF")
	stop := func(ctx context.Context) error { return tel.SetTracking(ctx, false) }
	start := func(ctx context.Context) error { return tel.SetTracking(ctx, true) }
	slew := func(ctx context.Context) error {
		return tel.Slew(ctx, sky.Equatorial{RA: axes.FromHours(-1), Dec: axes.Rad(45)}, nil)
	}
	const sent, track, short = "EQUATORIAL_EOD_COORD RA=23 DEC=45", "ON_COORD_SET TRACK=On", 100 * time.Millisecond
	for _, tt := range []struct {
		name    string
		do      func(context.Context) error
		on      string   // the property that
		answers []string // answers
		kind    error
		heard   string
		within  time.Duration
	}{
		{"off", stop, trackState, []string{off}, nil, "TELESCOPE_TRACK_STATE TRACK_ON=Off TRACK_OFF=On", 5 * second},
		{"off after a while", stop, trackState, []string{setSwitch(trackState, "Busy", "TRACK_OFF", "TRACK_ON"), off}, nil, "", 5 * second},
		{"off, another client's answer first", stop, trackState, []string{on, off}, nil, "", 5 * second},
		{"never off", stop, trackState, []string{setSwitch(trackState, "Busy", "TRACK_OFF", "TRACK_ON")}, mount.ErrLink, "", short},
		{"answered, not done", stop, trackState, []string{on}, mount.ErrState, "", short},
		{"refused", stop, trackState, []string{refusal}, mount.ErrRefused, "", 5 * second},
		{"refused, and the alert taken back at once", stop, trackState, []string{refusal + off}, mount.ErrRefused, "", 5 * second},
		{"garbled", stop, trackState, []string{setSwitch(trackState, "Fine", "TRACK_OFF", "TRACK_ON")}, mount.ErrAnswer, "", 5 * second},
		{"on", start, trackState, []string{setSwitch(trackState, "Busy", "TRACK_ON", "TRACK_OFF")}, nil,
			"TELESCOPE_TRACK_STATE TRACK_ON=On TRACK_OFF=Off", 5 * second},
		{"abort", tel.Abort, abort, []string{setSwitch(abort, "Busy", "ABORT", ""), setSwitch(abort, "Ok", "", "ABORT")}, nil,
			"TELESCOPE_ABORT_MOTION ABORT=On", 5 * second},
		{"abort refused", tel.Abort, abort, []string{setSwitch(abort, "Alert", "", "ABORT")}, mount.ErrRefused, "", 5 * second},
		{"abort never done", tel.Abort, abort, []string{setSwitch(abort, "Busy", "ABORT", "")}, mount.ErrLink, "", short},
		{"park", tel.Park, park, []string{setSwitch(park, "Busy", "PARK", "UNPARK")}, nil, "TELESCOPE_PARK PARK=On UNPARK=Off", 5 * second},
		{"unpark", tel.Unpark, park, []string{setSwitch(park, "Idle", "UNPARK", "PARK")}, nil, "TELESCOPE_PARK PARK=Off UNPARK=On", 5 * second},
		{"slew", slew, placeOfDate, []string{setPlace("Ok", "5", "6") + setPlace("Busy", "5:01", "7")}, nil, sent, 5 * second},
		{"slew refused", slew, placeOfDate, []string{setPlace("Alert", "5", "6") + setPlace("Ok", "5", "6")}, mount.ErrRefused, sent, 5 * second},
		{"slew to where it is", slew, placeOfDate, []string{setPlace("Ok", "22:59:59.9", "45")}, nil, sent, 5 * second},
		{"slew, nothing to see", slew, placeOfDate, []string{setPlace("Ok", "5", "6")}, mount.ErrLink, sent, short},
	} {
		s.on(onPlace, setSwitch(onPlace, "Ok", "TRACK", "SLEW SYNC"))
		s.on(tt.on, tt.answers...)
		err := tt.do(within(t, tt.within))
		if tt.kind == nil && err != nil || !errors.Is(err, tt.kind) {
			t.Errorf("%s: %v, want %v", tt.name, err, tt.kind)
		}
		if tt.heard != "" && s.last() != tt.heard {
			t.Errorf("%s: sent %q, want %q", tt.name, s.last(), tt.heard)
		}
		var r *mount.Refused
		if tt.name == "refused" && (!errors.As(err, &r) || r.Message != "the motor is hot") {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
	s.do(func() {
		if s.total != 1 {
			t.Errorf("%d connections: an answer of any sort is no reason to connect again", s.total)
		}
	})

	// A place is never sent while the driver would sync to it.
	s.on(onPlace, setSwitch(onPlace, "Ok", "SYNC", "TRACK SLEW"))
	if err := slew(within(t, short)); !errors.Is(err, mount.ErrState) || s.last() != track {
		t.Errorf("%v, %q", err, s.last())
	}
	side := axes.West
	if err := tel.Slew(within(t, second), sky.Equatorial{}, &side); !errors.Is(err, mount.ErrLacks) || s.last() != track {
		t.Errorf("%v, %q", err, s.last())
	}
	s.say(setSwitch(park, "Ok", "PARK", "UNPARK"))
	s.on(onPlace, setSwitch(onPlace, "Ok", "TRACK", "SLEW SYNC"))
	s.on(placeOfDate, `<message device="M" message="unpark me"/>`+setPlace("Alert", "5", "6"))
	if err := slew(within(t, 5*second)); !errors.Is(err, mount.ErrParked) || !strings.Contains(err.Error(), "unpark me") {
		t.Errorf("%v", err)
	}
	s.on(motionWE, setSwitch(motionWE, "Idle", "", "MOTION_WEST MOTION_EAST"))
	s.on(motionNS, setSwitch(motionNS, "Alert", "", ""))
	if err := tel.ZeroRates(within(t, 5*second)); !errors.Is(err, mount.ErrRefused) || !strings.Contains(err.Error(), motionNS) {
		t.Errorf("%v", err)
	}
	s.on(motionWE, setSwitch(motionWE, "Idle", "", "MOTION_WEST MOTION_EAST"))
	s.on(motionNS, setSwitch(motionNS, "Ok", "", "MOTION_NORTH MOTION_SOUTH"))
	if err := tel.ZeroRates(within(t, 5*second)); err != nil {
		t.Error(err)
	}
}
