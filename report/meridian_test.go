package report

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"testing"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// offPole are the made-up limits of a head that points 2.4° beside the pole.
func offPole() *room.Limits {
	l := madeUpLimits(10)
	m := room.Meridian{West: axes.Rad(-6.1), East: axes.Rad(-1.3), DecFrom: axes.Rad(-53.1), DecTo: axes.Rad(80), Off: axes.Rad(2.4), Found: true}
	l.Two.Meridian, l.Two.Entered = m, m
	l.Two.Entered.West, l.Two.Entered.East = axes.Rad(-6.72), axes.Rad(0.1)
	return l
}

func TestLimitsOffThePoleAsText(t *testing.T) {
	m := madeUp(t)
	none := offPole()
	none.Two.Meridian = room.Meridian{Off: axes.Rad(2.4)}
	none.Two.Entered = none.Two.Meridian
	for name, l := range map[string]*room.Limits{"limits_off_pole.txt": offPole(), "limits_no_meridian.txt": none} {
		var b bytes.Buffer
		if err := WriteTwoNumber(&b, Limits(m.Rig, l, nil, unconfirmed, nil)); err != nil {
			t.Fatal(err)
		}
		fits(t, name, b.String())
		golden(t, name, b.Bytes())
	}
	d := Limits(m.Rig, none, nil, unconfirmed, nil).TwoNumber
	if d.WestPastMeridianMin != nil || d.EastEntryBeforeMeridianMin != nil || d.MinutesDecFromDeg != nil || d.OffPoleDeg != 2.4 {
		t.Errorf("no hour angle is written as one: %+v", d.MeridianDoc)
	}
}

// A pair that is entered in steps finer than the figures shown is cut off, never rounded up: card, text and chart.
func TestEntryIsNeverPrintedBeyondTheLimit(t *testing.T) {
	for _, step := range []float64{1. / 16, 1. / 60, 0.0167, 1. / 3, 1. / 3600, 0.1, 0.25, 0.0005, 1} {
		for x := 60.0; x < 130; x += 0.01237 {
			e := room.Entry(axes.Rad(x), step)
			s := entry(e)
			printed, err := strconv.ParseFloat(s, 64)
			if err != nil || printed > e || printed < e-1.001e-4 {
				t.Fatalf("step %v: entry %.9f is written %s: %v", step, e, s, err)
			}
		}
	}
	for deg, want := range map[float64]string{61.1875: "61.1875", 61.33333333: "61.3333", 61.66666667: "61.6666", 95: "95", 0.3: "0.3", -7.00005: "−7.0001"} {
		if got := entry(deg); got != want {
			t.Errorf("%v is written %s, want %s", deg, got, want)
		}
	}
	m, l := madeUp(t), madeUpLimits(10)
	m.Rig.Mount.EntryStepDeg = 1. / 3
	l.Two.West = axes.Rad(97.7)
	var b bytes.Buffer
	if err := WriteTwoNumber(&b, Limits(m.Rig, l, nil, unconfirmed, nil)); err != nil || !strings.Contains(b.String(), "west  97.6666°") {
		t.Errorf("the limit of 97.7° by a third: %v\n%s", err, b.String())
	}
}

// What the text says of the pair that is entered, followed to the letter with a head that points 3° beside the pole, keeps the axis
// within it at every declination that it names.
func TestMinutesFollowedKeepTheAxisWithinThePair(t *testing.T) {
	for _, azimuth := range []string{"-3", "3"} {
		r, err := rig.Load("../examples/terrace-long-refractor.yaml")
		if err != nil {
			t.Fatal(err)
		}
		if r, err = r.With("mount.polar_axis.azimuth_error_deg", azimuth); err != nil {
			t.Fatal(err)
		}
		m, err := axes.NewModel(r, nil)
		if err != nil {
			t.Fatal(err)
		}
		g, err := room.NewGauge(m, room.Options{})
		if err != nil {
			t.Fatal(err)
		}
		mp, err := room.NewMap(t.Context(), g, room.MapOptions{CellDeg: 4})
		if err != nil {
			t.Fatal(err)
		}
		l, err := mp.Limits(t.Context(), room.LimitOptions{RowDeg: 90})
		if err != nil {
			t.Fatal(err)
		}
		d := Limits(r, l, nil, unconfirmed, nil).TwoNumber
		if d.WestEntryPastMeridianMin == nil || d.OffPoleDeg == 0 {
			t.Fatalf("azimuth %s: %+v", azimuth, d.MeridianDoc)
		}
		west, east := math.Floor(*d.WestEntryPastMeridianMin), -math.Floor(*d.EastEntryBeforeMeridianMin)
		for dec := *d.MinutesDecFromDeg; dec <= *d.MinutesDecToDeg; dec += 0.25 {
			for back := 0.0; back < 600; back += 5 {
				if ra := axes.Deg(m.Head.Angles(axes.Pose{Side: axes.West, HourAngle: (west - back) * math.Pi / 720, Dec: axes.Rad(dec)}).RA); ra > d.WestEntryDeg {
					t.Fatalf("azimuth %s: %v min before the end, at declination %v°, side west is at %v°, beyond %v°", azimuth, back, dec, ra, d.WestEntryDeg)
				}
				if ra := axes.Deg(m.Head.Angles(axes.Pose{Side: axes.East, HourAngle: (east + back) * math.Pi / 720, Dec: axes.Rad(dec)}).RA); ra < -d.EastEntryDeg {
					t.Fatalf("azimuth %s: %v min after the start, at declination %v°, side east is at %v°, beyond %v°", azimuth, back, dec, ra, -d.EastEntryDeg)
				}
			}
		}
		t.Logf("azimuth %s: west %v° until %v min, east %v° from %v min", azimuth, d.WestEntryDeg, west, d.EastEntryDeg, east)
	}
}
