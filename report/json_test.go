package report

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// validate checks a document against the schema of its name.
func validate(t *testing.T, name string, doc any) []byte {
	t.Helper()
	schema, err := Schema(name)
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(schema)
	if err != nil {
		t.Fatal(err)
	}
	parsed, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("mem:///"+name, parsed); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("mem:///" + name)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Write(&b, doc); err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Validate(v); err != nil {
		t.Errorf("%s: %v", name, err)
	}
	// The schema can say no: a key that is not in it, and each key left out.
	obj := v.(map[string]any)
	obj["surprise"] = 1
	if s.Validate(obj) == nil {
		t.Errorf("%s: the schema lets an unknown key through", name)
	}
	delete(obj, "surprise")
	for k, x := range obj {
		delete(obj, k)
		if s.Validate(obj) == nil && k != "mine" {
			t.Errorf("%s: the schema lets %q be left out", name, k)
		}
		obj[k] = x
	}
	return b.Bytes()
}

func madeUpGauge(t testing.TB) *room.Gauge {
	g, err := room.NewGauge(madeUp(t), room.Options{Mode: rig.RSS, MarginMM: 30})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func TestLimitsDocument(t *testing.T) {
	m := madeUp(t)
	l := madeUpLimits(10)
	mine := &room.Mine{West: axes.Rad(99), East: axes.Rad(92), Contacts: l.Two.Unprotected, RoomCost: 0.039, Best: l.Two}
	var b bytes.Buffer
	if err := WriteLimits(&b, m.Rig, Limits(m.Rig, l, nil, unconfirmed, []string{"a and b overlap"})); err != nil || !strings.Contains(b.String(), "! `legroom check` FINDS 1 ERROR: trust none") {
		t.Errorf("%v:\n%s", err, b.String())
	}
	text := string(validate(t, "limits", Limits(m.Rig, l, mine, unconfirmed, nil)))
	golden(t, "limits.json", []byte(text))
	var d struct {
		Rows []map[string]any `json:"by_declination"`
	}
	if err := json.Unmarshal([]byte(text), &d); err != nil {
		t.Fatal(err)
	}
	for _, r := range d.Rows {
		for h, reason := range map[string]string{"stop_h": "stop_reason", "resume_h": "resume_reason"} {
			none := r[reason] == "never_ends" || r[reason] == "never_usable"
			if (r[h] == nil) != none {
				t.Errorf("%v: %s is %v with reason %v", r["dec_deg"], h, r[h], r[reason])
			}
		}
	}
}

// TestNumbersAreRoundedToTheSafeSide: nothing that is printed gives more room than was proven.
func TestNumbersAreRoundedToTheSafeSide(t *testing.T) {
	for k := range 2000 {
		x := (float64(k)-1000)*0.0031415 + 1e-7*float64(k)
		if h := hoursDown(x); h > axes.Hours(x)+1e-12 || h < axes.Hours(x)-1e-6 {
			t.Errorf("hoursDown(%v) = %v for %v", x, h, axes.Hours(x))
		}
		if h := hoursUp(x); h < axes.Hours(x)-1e-12 || h > axes.Hours(x)+1e-6 {
			t.Errorf("hoursUp(%v) = %v for %v", x, h, axes.Hours(x))
		}
		if m := float64(minutesDown(hoursDown(x))); m > axes.Minutes(x)+1e-9 || m < axes.Minutes(x)-1-1e-4 {
			t.Errorf("%v min became %v, down", axes.Minutes(x), m)
		}
		if m := float64(minutesUp(hoursUp(x))); m < axes.Minutes(x)-1e-9 || m > axes.Minutes(x)+1+1e-4 {
			t.Errorf("%v min became %v, up", axes.Minutes(x), m)
		}
	}
	for _, m := range []int{-12, 0, 10, 95, 240} {
		h := float64(m) * math.Pi / 720
		if minutesDown(hoursDown(h)) != m || minutesUp(hoursUp(h)) != m {
			t.Errorf("%d min became %d and %d", m, minutesDown(hoursDown(h)), minutesUp(hoursUp(h)))
		}
	}
}

func TestPoseDocuments(t *testing.T) {
	g := madeUpGauge(t)
	p := axes.Pose{Side: axes.West, HourAngle: axes.FromHours(-0.2), Dec: axes.Rad(40)}
	ax := g.Model.Head.Angles(p)
	gap := g.Gap(ax, g.NewScratch())
	d := Pose(g, p, gap, g.Nearest(ax, 3))
	validate(t, "pose", d)
	if d.Decides.GapLowerMM != d.GapLowerMM || d.OutOfTravel != nil || !d.Free {
		t.Errorf("%+v decides a pose with %v mm; out of travel: %v", d.Decides, d.GapLowerMM, d.OutOfTravel)
	}
	if d.RAAxisDeg != 87 || d.DecAxisDeg != 50 || d.TubeIs != "west" {
		t.Errorf("axis angles %v, %v, tube is %s; want 87, 50, west", d.RAAxisDeg, d.DecAxisDeg, d.TubeIs)
	}
	for i, n := range d.Nearest {
		if n.GapLowerMM > n.GapMM || (i > 0 && n.GapMM < d.Nearest[i-1].GapMM) {
			t.Errorf("pair %d: gap %v, lower bound %v, after %+v", i, n.GapMM, n.GapLowerMM, d.Nearest[:i])
		}
	}
	line := Line(g, axes.West, -0.2, 40, gap)
	validate(t, "poses", line)
	var b bytes.Buffer
	if err := WriteLine(&b, line); err != nil {
		t.Fatal(err)
	}
	if strings.Count(b.String(), "\n") != 1 {
		t.Errorf("a line has several lines: %q", b.String())
	}
	g.Model.Travel.RATo = axes.Rad(86) // one degree short of the pose
	if d, line := Pose(g, p, gap, nil), Line(g, axes.West, -0.2, 40, gap); d.Free || d.OutOfTravel == nil || line.Free || line.OutOfTravel == nil {
		t.Errorf("a pose that the axes do not reach is free: %+v, %+v", d.OutOfTravel, line)
	}
	if line.GapLowerMM != d.GapLowerMM || line.GapMM != d.GapMM {
		t.Errorf("the line says %v, %v; the pose %v, %v", line.GapMM, line.GapLowerMM, d.GapMM, d.GapLowerMM)
	}
}

func TestTubeIs(t *testing.T) {
	for _, lat := range []float64{40, -40} {
		h := axes.NewHead(axes.Rad(lat), axes.Rad(40), 0, r3.Vec{})
		for _, c := range []struct {
			side axes.Side
			h    float64
			want string
		}{
			{axes.West, 0, "west"}, {axes.East, 0, "east"}, {axes.West, 5, "west"}, {axes.West, 7, "east"}, {axes.West, -7, "east"},
			{axes.East, 7, "west"}, {axes.West, -6, "above"}, {axes.East, 6, "above"}, {axes.West, 6, "below"},
		} {
			ax := h.Angles(axes.Pose{Side: c.side, HourAngle: axes.FromHours(c.h)})
			if got := TubeIs(&h, ax); got != c.want {
				t.Errorf("latitude %v, side %v, hour angle %v h: the tube is %s, want %s", lat, c.side, c.h, got, c.want)
			}
		}
	}
}

func TestSlewDocument(t *testing.T) {
	g := madeUpGauge(t)
	r := room.SlewReport{From: axes.Angles{RA: 1, Dec: 0.8}, To: axes.Angles{RA: -1, Dec: -0.8}, DecFirst: true, Seconds: 38.2,
		Obstruction: &room.Obstruction{At: axes.Angles{RA: 0.2, Dec: 0.1}, State: room.Blocked, A: "leg 1", B: "filter wheel"}}
	route := &room.Route{Waypoints: []axes.Angles{r.From, {RA: 0, Dec: 0}, r.To}, Seconds: 51.3}
	basis := Basis{Fingerprint: "made-up", MarginMM: 30, Mode: rig.RSS, ToleranceMM: 8.4, Unmeasured: []string{}}
	validate(t, "slew", Slew(g, basis, room.SlewReport{Safe: true, AnyOrder: true}, nil))
	d := Slew(g, basis, r, route)
	validate(t, "slew", d)
	var b bytes.Buffer
	if err := WriteSlew(&b, d); err != nil {
		t.Fatal(err)
	}
	fits(t, "slew", b.String())
	golden(t, "slew.txt", b.Bytes())
}

func TestCheckDocument(t *testing.T) {
	g := madeUpGauge(t)
	joints := []room.Joint{{A: 1, B: 2, Rest: -3, Deepest: -9, Holds: false}}
	costs := []room.Cost{{Quantity: g.Model.Rig.Quantities[1], MM: 7.2, OfMM: 8.4, A: "leg 1", B: "filter wheel"}}
	d := Check(g, joints, costs)
	for i := range d.Parts {
		switch q := &d.Parts[i]; q.Name {
		case "filter wheel":
			q.TravelMM, q.Swept = 12.5, true
		case "finder":
			q.Swept = true
		}
	}
	if d.OK {
		t.Error("a joint that does not hold passes the check")
	}
	validate(t, "check", d)
	d.Fingerprint = "made-up"
	d.Findings = []FindingDoc{{Level: rig.FindingWarning, Path: "support.legs.foot_radius_mm", Text: "the feet stand further out than the legs are long", File: "rig.yaml", Line: 12, Col: 5},
		{Level: rig.FindingNote, Text: "a note of no place"}}
	d.Defaults = []DefaultDoc{{"tube.slide_mm", "0", "absent: exactly this"}}
	d.Overlaps = []OverlapDoc{{Nearest: Nearest{A: "leg 1", B: "camera", GapMM: -4.2}, AFrom: PlaceDoc{"support.legs", "rig.yaml", 9}, BFrom: PlaceDoc{Path: "tube.train.items[3]"}},
		{Nearest: Nearest{A: "mount base", B: "counterweight bar", GapMM: -7}, MayJoin: true}}
	var b bytes.Buffer
	if err := WriteCheck(&b, d); err != nil {
		t.Fatal(err)
	}
	fits(t, "check", b.String())
	golden(t, "check.txt", b.Bytes())
	const advice = "WHAT THE TOLERANCES COST (rss, up to 0 mm): measure the first ones better\n" +
		"  support.extension.height_mm                   7.2 of   8.4 mm  leg 1 – filter wheel\n"
	var sound bytes.Buffer
	d.OK = true
	if err := WriteCheck(&sound, d); err != nil || !strings.Contains(sound.String(), advice) || strings.Contains(b.String(), "measure the first") {
		t.Errorf("%v: advice on measures with errors, or none without:\n%s", err, sound.String())
	}
}

func TestMapDocument(t *testing.T) {
	c := madeUpChart(t, 10)
	c.West.Points[0].Unreachable = true
	d := MapDoc{Rig: "made-up", Basis: c.Basis, CellDeg: 0.25, EdgePercent: 1.2, Sides: []GridDoc{c.West.doc(), c.East.doc()}}
	validate(t, "map", d)
	if !math.IsNaN(float64(d.Sides[0].GapLowerMM[0][0])) || d.Sides[0].State[0][0] != 't' {
		t.Error("a pose outside the travel has a gap")
	}
	for j := range c.East.Rows {
		for i := range c.East.Columns {
			if got, have := float64(d.Sides[1].GapLowerMM[j][i]), float64(c.East.At(i, j).GapMM); got > have {
				t.Fatalf("gap %v was written as %v", have, got)
			}
		}
	}
	fine := madeUpChart(t, 1)
	d.Sides = []GridDoc{fine.West.doc(), fine.East.doc()}
	var b bytes.Buffer
	if err := WriteMap(&b, c.Model, d); err != nil {
		t.Fatal(err)
	}
	fits(t, "map", b.String())
	// By hand, at 36.9° north and down to a step of 1° below the horizon: cos H = (sin −1° − sin φ·sin δ)/(cos φ·cos δ) gives ±6.31 h for
	// δ = 4.5°, the highest point of its line, which are the fields from −6.3 h to +6.6 h; the pole is up always, −54.1° never.
	for line, want := range map[string]string{"0°": "", "+85°": "", "−55°": "", "−60°": "no line"} {
		_, row, ok := strings.Cut(b.String(), "\n"+padLeft(line, 7)+" ")
		row, _, _ = strings.Cut(row, "\n")
		row = strings.ReplaceAll(row, "|", "")
		switch {
		case (want == "no line") == ok:
			t.Errorf("declination %s: a line: %v", line, ok)
		case line == "0°" && (len(row)-len(strings.TrimLeft(row, " ")) != 19 || len(strings.TrimSpace(row)) != 43):
			t.Errorf("declination 0° to 5°: %q is not up from −6.3 h to +6.6 h", row)
		case line == "+85°" && strings.Contains(row, " "):
			t.Errorf("by the pole: %q is not up all the time", row)
		}
	}
	golden(t, "map.txt", b.Bytes())
}
