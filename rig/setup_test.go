package rig

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// setupTexts gives the list of a changed good document as key: text lines.
func setupTexts(t *testing.T, without []string, changes ...string) []string {
	t.Helper()
	r, err := Parse([]byte(changed(t, goodText(t), changes...)), "")
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, l := range r.SetupList(without) {
		if l.Name == "" || len(out) == 7 {
			t.Errorf("line %d: %+v", len(out)+1, l)
		}
		out = append(out, l.Key+": "+l.Text)
	}
	return out
}

// changed replaces pairs of old and new text, each old one there exactly once.
func changed(t *testing.T, text string, pairs ...string) string {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		if strings.Count(text, pairs[i]) != 1 {
			t.Fatalf("%q is there %d times", pairs[i], strings.Count(text, pairs[i]))
		}
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	return text
}

func TestSetupList(t *testing.T) {
	want := []string{
		"leg-bearing: leg 1 at 0° ± 2°, clockwise from true north",
		"leg-extension: head 900 mm high, feet 550 mm from the centre",
		"train: 3 items, 300 mm long; rotator 0° to 180°",
		"riser: pier extension of 200 mm on",
		"saddle-mark: tube at the mark where it was measured",
		"roof: shield on: either way",
		"place: from the support's centre to the middle of each: wall 2500 mm north",
	}
	base := setupTexts(t, nil)
	if !slices.Equal(base, want) {
		t.Fatalf("got  %q\nwant %q", base, want)
	}
	for _, c := range []struct {
		without []string
		changes []string
		line    int
		want    string
	}{
		{changes: []string{"first_azimuth_deg: 0 ± 2", "first_azimuth_deg: -12.5", "azimuth_from: true_north", "azimuth_from: polar_axis"},
			line: 0, want: "leg-bearing: leg 1 at −12.5° ± 3°, clockwise from the polar axis"},
		{changes: []string{"foot_radius_mm: 550±5", "foot_radius_mm: 612.25"}, line: 1, want: "leg-extension: head 900 mm high, feet 612.25 mm from the centre"},
		{changes: []string{"  extension: {diameter_mm: 150, height_mm: 200, wall_mm: 5 ± 0.1, material: aluminium}\n", ""}, line: 3, want: "riser: no pier extension"},
		{changes: []string{"slide_mm: 0 ± 1", "slide_mm: 15 ± 1"}, line: 4, want: "saddle-mark: tube 15 mm forward of where it was measured"},
		{changes: []string{"slide_mm: 0 ± 1", "slide_mm: -7.5 ± 1"}, line: 4, want: "saddle-mark: tube 7.5 mm back of where it was measured"},
		{without: []string{"shield on"}, line: 5, want: "roof: shield on: NO"},
	} {
		got := setupTexts(t, c.without, c.changes...)
		for i := range base {
			w := base[i]
			if i == c.line {
				w = c.want
			}
			if got[i] != w {
				t.Errorf("%q: line %d is %q, want %q", c.changes, i, got[i], w)
			}
		}
	}
}

// What the conditions that every rig has leave out is seen in the train's line.
func TestSetupListOfTheTrain(t *testing.T) {
	from, to := -90.0, 45.5
	train := &Train{Items: []Item{
		{Name: "focuser", LengthMM: Length{Quantity{Value: 100}}, TravelMM: Length{Quantity{Value: 20}}},
		{Name: "guide camera", LengthMM: Length{Quantity{Value: 40}}, Beside: true},
		{Name: "camera", LengthMM: Length{Quantity{Value: 85.5}}, Turns: true},
	}}
	train.Rotator.AngleDeg.Value = 30
	swept := *train
	swept.Rotator.SweepFromDeg, swept.Rotator.SweepToDeg = &from, &to
	fixed := *train
	fixed.Items = train.Items[:1]
	for _, c := range []struct {
		train   *Train
		without []string
		want    string
	}{
		{nil, nil, "no imaging train"},
		{train, nil, "3 items, 185.5 mm long; rotator 30°"},
		{train, []string{FocuserTravel, RotatorSweep}, "3 items, 185.5 mm long; rotator 30°; focuser as measured"},
		{&swept, nil, "3 items, 185.5 mm long; rotator −90° to 45.5°"},
		{&swept, []string{RotatorSweep}, "3 items, 185.5 mm long; rotator stays at 30°"},
		{&fixed, nil, "1 item, 100 mm long"},
	} {
		r := &Rig{Tube: Tube{Train: c.train}}
		list := r.SetupList(c.without)
		if len(list) != 3 || list[0].Key != "train" || list[0].Text != c.want {
			t.Errorf("without %q: %+v, want a pier's three lines, the first %q", c.without, list, c.want)
		}
	}
}

// The evening of a night, by the clocks of the site.
func TestEvening(t *testing.T) {
	for _, c := range []struct{ zone, at, want string }{
		{"Europe/Madrid", "2026-11-25T11:59:59+01:00", "2026-11-24"},
		{"Europe/Madrid", "2026-11-25T12:00:00+01:00", "2026-11-25"},
		{"Europe/Madrid", "2026-11-25T23:59:59+01:00", "2026-11-25"},
		{"Europe/Madrid", "2026-11-26T00:00:00+01:00", "2026-11-25"},
		{"Europe/Madrid", "2026-11-25T11:00:00Z", "2026-11-25"}, // noon there
		// Clocks go forward on 2026-03-29 at 02:00 and back on 2026-10-25 at 03:00.
		{"Europe/Madrid", "2026-03-29T11:59:59+02:00", "2026-03-28"},
		{"Europe/Madrid", "2026-03-29T12:00:00+02:00", "2026-03-29"},
		{"Europe/Madrid", "2026-10-25T02:30:00+02:00", "2026-10-24"},
		{"Europe/Madrid", "2026-10-25T02:30:00+01:00", "2026-10-24"},
		{"Europe/Madrid", "2026-10-25T11:59:59+01:00", "2026-10-24"},
		{"Europe/Madrid", "2026-10-25T12:00:00+01:00", "2026-10-25"},
		// There midnight itself is skipped on 2026-03-08, and comes twice on 2026-11-01.
		{"America/Havana", "2026-03-08T01:30:00-04:00", "2026-03-07"},
		{"America/Havana", "2026-11-01T00:30:00-04:00", "2026-10-31"},
		{"America/Havana", "2026-11-01T00:30:00-05:00", "2026-10-31"},
		// One moment, three dates.
		{"Pacific/Kiritimati", "2026-06-10T22:30:00Z", "2026-06-11"}, // 12:30 on the 11th
		{"Pacific/Pago_Pago", "2026-06-10T22:30:00Z", "2026-06-09"},  // 11:30 on the 10th
		{"UTC", "2026-06-10T22:30:00Z", "2026-06-10"},
		{"Pacific/Apia", "2011-12-31T08:00:00+14:00", "2011-12-29"}, // the 30th was left out
		{"Europe/Madrid", "2027-01-01T03:00:00+01:00", "2026-12-31"},
		{"Europe/Madrid", "2028-03-01T03:00:00+01:00", "2028-02-29"},
	} {
		at, err := time.Parse(time.RFC3339, c.at)
		if err != nil {
			t.Fatal(err)
		}
		s := Site{TimeZone: c.zone}
		if got, err := s.Evening(at); err != nil || got != c.want {
			t.Errorf("%s in %s: %q, %v; want %q", c.at, c.zone, got, err, c.want)
		}
	}
	if _, err := (&Site{TimeZone: "Mars/X"}).Evening(time.Now()); err == nil || !strings.Contains(err.Error(), `"Mars/X"`) {
		t.Errorf("an unknown zone: %v", err)
	}
}

// Over two years, 70 minutes by 70 minutes, the evening is what the calendar alone gives, and each evening comes once.
func TestEveningOverTwoYears(t *testing.T) {
	for _, name := range []string{"Europe/Madrid", "America/Havana", "America/Santiago", "Atlantic/Azores", "Africa/Cairo"} {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		s := Site{TimeZone: name}
		var seen []string
		for at := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC); at.Year() < 2027; at = at.Add(70 * time.Minute) {
			y, m, d := at.In(zone).Date()
			if at.In(zone).Hour() < 12 {
				d--
			}
			got, err := s.Evening(at)
			if want := time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Format(time.DateOnly); err != nil || got != want {
				t.Fatalf("%v: %q, %v; want %q", at.In(zone), got, err, want)
			}
			if len(seen) == 0 || seen[len(seen)-1] != got {
				seen = append(seen, got)
			}
		}
		if !slices.IsSorted(seen) || len(slices.Compact(slices.Clone(seen))) != len(seen) || len(seen) < 730 {
			t.Errorf("%s: %d evenings, not each once and in order", name, len(seen))
		}
	}
}

// The place is told by the three obstacles nearest to the support on the level: x is east and y north. What is not on the ground, or
// not there, does not tell it, and nothing says nothing.
func TestSetupListOfThePlace(t *testing.T) {
	thing := func(name, condition string, frame Frame, x, y float64) ExtraPart {
		at := []Length{{Quantity{Value: x}}, {Quantity{Value: y}}, {Quantity{Value: 9000}}}
		return ExtraPart{Name: name, Frame: frame, AtMM: at, Condition: condition}
	}
	all := []ExtraPart{thing("hedge", "", Ground, -3000, 0), thing("house wall", "", Ground, 200.5, 900), thing("post", "", Ground, 0, -1200),
		thing("railing", "", Ground, 200, -640), thing("lamp", "", Polar, 1, 1), thing("roof edge", "roof shut", Ground, 0, 0)}
	for _, c := range []struct {
		obstacles []ExtraPart
		without   []string
		want      string
	}{
		{all, []string{"roof shut"}, "railing 640 mm south and 200 mm east; house wall 900 mm north and 200.5 mm east; post 1200 mm south; and 1 more"},
		{all[3:], nil, "roof edge right there; railing 640 mm south and 200 mm east"},
		{all[:1], nil, "hedge 3000 mm west"},
		{all[4:5], nil, ""},
	} {
		list := (&Rig{Support: Support{Obstacles: c.obstacles}}).SetupList(c.without)
		last := list[len(list)-1]
		if c.want == "" {
			if last.Key == "place" {
				t.Errorf("%+v", last)
			}
		} else if last.Key != "place" || last.Text != "from the support's centre to the middle of each: "+c.want {
			t.Errorf("%+v, want %q", last, c.want)
		}
	}
}
