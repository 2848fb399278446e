package report

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

func TestLimitsAsText(t *testing.T) {
	m := madeUp(t)
	l := madeUpLimits(10)
	mine := &room.Mine{West: axes.Rad(99), East: axes.Rad(92), Contacts: l.Two.Unprotected, RoomCost: 0.039, Best: l.Two}
	safe := *l
	safe.Two.Safe, safe.Two.Unprotected = true, nil
	some := safe // a pair for some declinations is none for the sky: said at the numbers and at the verdict
	some.Two.DecFrom, some.Two.DecTo = axes.Rad(-12.504), axes.Rad(20)
	holds := &room.Mine{West: axes.Rad(97), East: axes.Rad(93), Safe: true, RoomCost: 0.0426, Best: some.Two}
	for name, f := range map[string]func(*bytes.Buffer) error{
		"limits_some.txt": func(b *bytes.Buffer) error {
			return WriteLimits(b, m.Rig, Limits(m.Rig, &some, holds, unconfirmed, nil))
		},
		"limits.txt":      func(b *bytes.Buffer) error { return WriteLimits(b, m.Rig, Limits(m.Rig, l, nil, unconfirmed, nil)) },
		"limits_mine.txt": func(b *bytes.Buffer) error { return WriteLimits(b, m.Rig, Limits(m.Rig, l, mine, unconfirmed, nil)) },
		"limits_confirmed.txt": func(b *bytes.Buffer) error {
			return WriteLimits(b, m.Rig, Limits(m.Rig, &safe, nil, rig.Setup{Night: "2026-03-14", Confirmed: true}, nil))
		},
	} {
		var b bytes.Buffer
		if err := f(&b); err != nil {
			t.Fatal(err)
		}
		fits(t, name, b.String())
		golden(t, name, b.Bytes())
	}
}

func fits(t *testing.T, name, s string) {
	t.Helper()
	for i, l := range strings.Split(s, "\n") {
		if n := utf8.RuneCountInString(l); n > Columns {
			t.Errorf("%s: line %d has %d columns: %q", name, i+1, n, l)
		}
	}
}

func TestCostOfNothingIsZero(t *testing.T) {
	if got := costPct(0); got != "0.0" {
		t.Errorf("no cost is written %q", got)
	}
	if got := costPct(4.2601); got != "4.3" {
		t.Errorf("a cost of 4.2601 is written %q, want 4.3: up", got)
	}
}

func TestBothDays(t *testing.T) {
	for evening, want := range map[string]string{"2026-11-26": "2026-11-26/27", "2026-11-30": "2026-11-30/12-01", "2028-02-28": "2028-02-28/29",
		"2026-12-31": "2026-12-31/2027-01-01", "": ""} {
		if got := bothDays(evening); got != want {
			t.Errorf("the night of %q is written %q, want %q", evening, got, want)
		}
	}
}

func TestPoseAsText(t *testing.T) {
	d := PoseDoc{HourAngleH: -0.2, DecDeg: 40, Side: "west", TubeIs: "west", RAAxisDeg: 87, DecAxisDeg: 50, GapMM: 52.36, GapLowerMM: 43.97, Free: true,
		Basis: Basis{MarginMM: 30, Mode: rig.RSS, ToleranceMM: 8.38, Unmeasured: []string{"support.extension.height_mm"}},
		Nearest: []Nearest{
			{A: "leg 1", B: "filter wheel", GapMM: 52.36, GapLowerMM: 43.97, ToleranceMM: 8.38, PointA: [3]float64{-251.2, -0.3, 812.4}, PointB: [3]float64{-246, 12, 863}},
			{A: "a part whose name is much longer than its column", B: "camera", GapMM: 118.02, GapLowerMM: 111.4, ToleranceMM: 6.6},
		}}
	d.Decides = d.Nearest[0]
	hit := d
	hit.GapMM, hit.GapLowerMM, hit.Free, hit.Mode, hit.TubeIs = -12.7, -12.8, false, rig.None, "below"
	wide, far := d, d
	wide.Free, wide.GapLowerMM = false, -0.3
	wide.Decides = Nearest{A: "leg 2", B: "filter wheel", GapMM: 88.4, GapLowerMM: -0.3, ToleranceMM: 88.7} // not among the nearest
	beyond := "RA axis 150.00°, declination axis 50.00°: outside the travel of the axes, RA −120.0° to 120.0°, declination −180.0° to 180.0°"
	far.Free, far.OutOfTravel = false, &beyond
	for name, d := range map[string]PoseDoc{"pose.txt": d, "pose_overlap.txt": hit, "pose_wide.txt": wide, "pose_travel.txt": far} {
		var b bytes.Buffer
		if err := WritePose(&b, d); err != nil {
			t.Fatal(err)
		}
		fits(t, name, b.String())
		golden(t, name, b.Bytes())
	}
}
