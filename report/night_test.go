package report

import (
	"bytes"
	"context"
	"encoding/csv"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"legroom/axes"
	"legroom/night"
	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// terraceMap is a real map, for names and basis; its coarse cells play no part here.
func terraceMap(t testing.TB) *room.Map {
	t.Helper()
	r, err := rig.Load("../examples/terrace-long-refractor.yaml")
	if err != nil {
		t.Fatal(err)
	}
	model, err := axes.NewModel(r, nil)
	if err != nil {
		t.Fatal(err)
	}
	g, err := room.NewGauge(model, room.Options{})
	if err != nil {
		t.Fatal(err)
	}
	m, err := room.NewMap(context.Background(), g, room.MapOptions{CellDeg: 4})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// madeUpNight is a plan that nobody computed, with a target of every kind, on the night in which the clocks go back.
func madeUpNight(t testing.TB, m *room.Map, two bool) *night.Plan {
	t.Helper()
	site, err := sky.NewSite(m.Gauge().Model.Rig.Site)
	if err != nil {
		t.Fatal(err)
	}
	n, err := sky.NightOf(site, 2026, time.October, 24)
	if err != nil {
		t.Fatal(err)
	}
	p := &night.Plan{Night: n, Dark: n.Dark.Windows,
		Options: night.Options{SunAltitude: sky.Astronomical, Sub: 5 * time.Minute, MinAltitude: axes.Rad(20), MinBlock: 20 * time.Minute, TwoNumber: two}}
	rise, set := n.MoonRiseSet()
	p.Moon = night.Moon{Lit: 0.983, Rise: rise, Set: set, Up: n.MoonUp()}
	at := func(hour, min int, sec float64) time.Time {
		d := 24
		if hour < 12 {
			d = 25
		}
		return time.Date(2026, time.October, d, hour, min, 0, 0, time.UTC).Add(time.Duration(sec * 1e9)).In(site.Zone)
	}
	span := func(a, b time.Time) sky.Window { return sky.Window{From: a, To: b} }
	ints := func(x int) *int { return &x }
	minute := math.Pi / 720
	end := func(min float64, r room.Reason) room.RunEnd { return room.RunEnd{HourAngle: min * minute, Reason: r} }
	dark := n.Dark.Windows[0]

	idle := night.Target{Target: sky.Target{Name: "M 31", Priority: 1, Sub: 3 * time.Minute, Place: sky.J2000{RA: axes.Rad(10.6846), Dec: axes.Rad(41.2692)}}, Rises: true,
		Transit: at(22, 44, 40.4), Sky: []sky.Window{dark}, Stop: at(22, 8, 12.9), Resume: at(23, 19, 40.1), StopReason: room.ByRoom,
		Usable: []sky.Window{span(dark.From, at(22, 8, 12.9)), span(at(23, 19, 40.1), dark.To)},
		Runs: []night.Run{{Side: axes.West, From: n.Noon, To: at(22, 8, 12.9), CutFrom: true},
			{Side: axes.East, From: at(23, 19, 40.1), To: n.NextNoon, CutTo: true}},
		Idle: []sky.Window{span(at(22, 8, 12.9), at(23, 19, 40.1))}, LastStart: at(22, 5, 12.9), Subs: 177,
		Lost:      night.Lost{Exposed: 531 * time.Minute, Twilight: 175 * time.Minute, Idle: 77 * time.Minute, Flip: 140 * time.Second, Rest: 100 * time.Second},
		MoonApart: axes.Rad(31.9), MoonBrighter: 1.5, MaxAltitude: axes.Rad(85.6), Advice: night.Advice{Kind: night.FlipOnce, Stop: ints(-38), Flip: ints(37), Text: "stop at −38 min, flip at +37 min"}}
	idle.Row = room.Row{DecFrom: axes.Rad(41.3), DecTo: axes.Rad(41.5), Stop: end(-36.6, room.ByRoom), Resume: end(35, room.ByRoom), Idle: 71.6 * minute}
	idle.Blocks = []night.Block{{Target: 0, Side: axes.West, From: at(18, 54, 0), To: at(22, 6, 0), Subs: 64}}

	flip := night.Target{Target: sky.Target{Name: "IC 1805", Priority: 2, Place: sky.J2000{RA: axes.Rad(38.2), Dec: axes.Rad(61.45)}}, Rises: true,
		Transit: at(0, 35, 0), Sky: []sky.Window{dark}, Usable: []sky.Window{dark}, Stop: at(1, 14, 0), StopReason: room.ByRoom, Resume: at(0, 15, 0.5),
		Runs: []night.Run{{Side: axes.West, From: n.Noon, To: at(1, 14, 0)}, {Side: axes.East, From: at(0, 15, 0.5), To: n.NextNoon}},
		Flip: []sky.Window{span(at(0, 26, 59.001), at(1, 11, 0.999)), span(at(1, 12, 0.2), at(1, 12, 0.9))}, LastStart: at(1, 9, 0), Subs: 121,
		Lost: night.Lost{Exposed: 546 * time.Minute, Flip: 2 * time.Minute}, MoonApart: axes.Rad(53), MaxAltitude: axes.Rad(65.1),
		Advice: night.Advice{Kind: night.FlipOnce, Stop: ints(38), Flip: ints(-8), Late: ints(36), Text: "stop at +38 min, flip between −8 min and +36 min"}}
	flip.Row = room.Row{DecFrom: axes.Rad(61.4), DecTo: axes.Rad(61.6), Stop: end(39, room.ByRoom), Resume: end(-20, room.ByTravel)}

	either := night.Target{Target: sky.Target{Name: "=HYPERLINK field, a name that is longer than its column", Place: sky.J2000{RA: axes.Rad(83.82), Dec: axes.Rad(-5.39)}}, Rises: true,
		Transit: at(3, 36, 0), Sky: []sky.Window{span(at(22, 22, 0), dark.To)}, Usable: []sky.Window{span(at(22, 22, 0), dark.To)}, StopReason: room.ByHorizon,
		Subs: 88, Lost: night.Lost{Exposed: 440 * time.Minute}, MoonApart: axes.Rad(70), MaxAltitude: axes.Rad(47.6), Advice: night.Advice{Kind: night.WestOnly, Text: "side west only"}}
	either.Row = room.Row{Stop: end(300, room.ByHorizon), Resume: end(0, room.NeverUsable)}

	never := night.Target{Target: sky.Target{Name: "South", Place: sky.J2000{Dec: axes.Rad(-80)}}, MaxAltitude: axes.Rad(-27), MoonApart: axes.Rad(80),
		Transit: at(22, 0, 0), Advice: night.Advice{Kind: night.NoAdvice, Text: "never above the horizon here"}}
	shut := night.Target{Target: sky.Target{Name: "No room", Place: sky.J2000{RA: axes.Rad(60), Dec: axes.Rad(20)}}, Rises: true, Sky: []sky.Window{dark},
		Lost: night.Lost{NoRoom: 546 * time.Minute}, MaxAltitude: axes.Rad(70), Advice: night.Advice{Kind: night.NoAdvice, Text: "no room on either side"}}
	shut.Row = room.Row{Stop: end(0, room.NeverUsable), Resume: end(0, room.NeverUsable)}
	p.Targets = []night.Target{idle, flip, either, never, shut}
	for i := range p.Targets {
		p.Targets[i].Apparent = p.Targets[i].Place.Apparent(n.Midnight)
	}

	path := []axes.Angles{{}, {RA: axes.Rad(44.5), Dec: axes.Rad(48.6)}}
	p.Schedule = night.Schedule{Worth: 93.4, Bound: 96, Blocks: []night.Block{
		{Target: 0, Side: axes.West, From: at(18, 54, 0), To: at(22, 6, 0), Subs: 64, Why: "priority 1, from dark, until its stop on side west",
			Come: night.Move{Begin: at(18, 53, 0), End: at(18, 53, 40.2), From: "park", Path: path}},
		{Target: 0, Side: axes.East, From: at(23, 24, 0), To: at(1, 0, 0), Subs: 32, Why: "priority 1, after its flip, until IC 1805 is worth more",
			Come: night.Move{Begin: at(23, 22, 0), End: at(23, 23, 10), Flip: true, Via: "park", Path: path}},
		{Target: 2, Side: axes.West, Either: true, From: at(1, 3, 0), To: at(5, 3, 0), Subs: 48, Why: "after M 31, until dawn", Come: night.Move{Begin: at(1, 1, 0), End: at(1, 2, 0.1), Path: path}},
	}, Park: &night.Move{Begin: at(5, 3, 0), End: at(5, 3, 40), To: "park", Path: path}}
	p.Pair = night.Advice{Kind: night.FlipOnce, Stop: ints(-38), Flip: ints(38), Text: "stop at −38 min, flip at +38 min; not for No room"}
	if two {
		p.West, p.East = axes.Rad(80), axes.Rad(79.5)
		p.Targets[0].Subs, p.Targets[1].Subs = 175, 105
		p.Schedule.Worth, p.Schedule.Bound, p.Schedule.Exact = 90, 90, true
		p.Schedule.Blocks = p.Schedule.Blocks[:2]
		p.Pair = night.Advice{Kind: night.FlipOnce, Stop: ints(-42), Flip: ints(41), Text: "stop at −42 min, flip at +41 min"}
	}
	p.Notes = []string{"a note of the plan"}
	return p
}

var tonight = rig.Setup{Night: "2026-10-24", Reason: "nobody has confirmed the set-up yet"}

func madeUpNightDoc(t testing.TB) (*night.Plan, NightDoc) {
	m := terraceMap(t)
	p := madeUpNight(t, m, false)
	return p, Night(m, p, madeUpNight(t, m, true), tonight)
}

func TestNightAsText(t *testing.T) {
	m := terraceMap(t)
	a, b := madeUpNight(t, m, false), madeUpNight(t, m, true)
	for name, d := range map[string]NightDoc{
		"night.txt":     Night(m, a, b, tonight),
		"night_two.txt": Night(m, b, a, rig.Setup{Night: "2026-10-24", Confirmed: true}),
	} {
		var out bytes.Buffer
		if err := WriteNight(&out, d); err != nil {
			t.Fatal(err)
		}
		fits(t, name, out.String())
		golden(t, name, out.Bytes())
		// One pair to enter: that of the plan beside it has another name.
		if n := strings.Count(strings.ToLower(out.String()), "one pair for all"); n != 1 {
			t.Errorf("%s: %d pairs with one name", name, n)
		}
	}
}

// Two tables that a spreadsheet opens: as many cells in every row, and none that it would take for a formula.
func TestNightAsCSV(t *testing.T) {
	_, d := madeUpNightDoc(t)
	for name, f := range map[string]func(*bytes.Buffer) error{
		"night_schedule.csv": func(b *bytes.Buffer) error { return WriteScheduleCSV(b, d) },
		"night_targets.csv":  func(b *bytes.Buffer) error { return WriteTargetsCSV(b, d) },
	} {
		var b bytes.Buffer
		if err := f(&b); err != nil {
			t.Fatal(err)
		}
		golden(t, name, b.Bytes())
		rows, err := csv.NewReader(&b).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows[1:] {
			for i, c := range row {
				if strings.HasPrefix(c, "=") || strings.HasPrefix(c, "@") {
					t.Errorf("%s: %s is %q", name, rows[0][i], c)
				}
			}
		}
	}
}

// Every moment of a document is a whole second, to the side that takes room away.
func TestNightRoundsInwards(t *testing.T) {
	_, d := madeUpNightDoc(t)
	is := func(what string, got *time.Time, want string) {
		t.Helper()
		if s := stamp(got); s != want {
			t.Errorf("%s is %q, want %q", what, s, want)
		}
	}
	m31, ic := &d.Targets[0], &d.Targets[1]
	is("the stop", m31.Stop, "2026-10-25T00:08:12+02:00")              // 12.9 s, down
	is("the resume", m31.Resume, "2026-10-25T01:19:41+02:00")          // 40.1 s, up
	is("the latest start", m31.LastStart, "2026-10-25T00:05:12+02:00") // down
	is("the end of the first window", &m31.Usable[0][1], "2026-10-25T00:08:12+02:00")
	is("the start of the second", &m31.Usable[1][0], "2026-10-25T01:19:41+02:00")
	is("that in UTC", &m31.UTC.Usable[1][0], "2026-10-24T23:19:41Z")
	is("the transit", m31.Transit, "2026-10-25T00:44:40+02:00")        // happens: nearest
	is("the flip's start", &ic.Flip.From, "2026-10-25T02:27:00+02:00") // 26:59.001, up
	is("the flip's end", &ic.Flip.To, "2026-10-25T02:11:00+01:00")     // 11:00.999, down, the clocks gone back
	if len(ic.FlipWindows) != 1 {
		t.Errorf("a flip window of less than a second is one of %v", ic.FlipWindows)
	}
	is("the slew's start", &d.Schedule[0].Come.Begin, "2026-10-24T20:53:00+02:00")
	is("the slew's end", &d.Schedule[0].Come.End, "2026-10-24T20:53:41+02:00")
	if want := 71 + 27.2/60; math.Abs(m31.IdleMin-want) > 1e-6 || m31.IdleMin < want-1e-9 {
		t.Errorf("idle for %v min, want %v, rounded up", m31.IdleMin, want)
	}
	if d.Targets[3].Stop != nil || d.Targets[3].FirstSide != nil || d.Targets[3].WhyNot != "never above the horizon here" {
		t.Errorf("the target that never rises: %+v", d.Targets[3])
	}
	// The first second of darkness is dark, and so is the last.
	for _, at := range []*time.Time{d.DarkFrom, d.DarkTo} {
		if alt := axes.Deg(madeUpNight(t, terraceMap(t), false).Night.Site.SunAltitude(*at)); alt > -18 {
			t.Errorf("at %s the Sun stands at %v°", stamp(at), alt)
		}
	}
	// Text rounds the rounded on, to the same side.
	k := clocksOf(d.TimeZone, d.Night)
	if got := k.spans(m31.Usable); got != "20:53+2…00:08+2, 01:20+2…06:03+1" {
		t.Errorf("usable %s", got)
	}
}

// The pair of parts at a stop is the one that has least room there.
func TestPartsAtTheStop(t *testing.T) {
	_, d := madeUpNightDoc(t)
	if got := strings.Join(d.Targets[0].StopParts, ", "); got != "leg 3, filter wheel" {
		t.Errorf("at the stop %s are nearest", got)
	}
	if len(d.Targets[1].ResumeParts) > 0 {
		t.Errorf("the axis ends it, not %v", d.Targets[1].ResumeParts)
	}
}

func TestClocks(t *testing.T) {
	at := time.Date(2026, 10, 25, 1, 30, 29, 0, time.UTC)
	for _, c := range []struct{ zone, date, want string }{
		{"Europe/Madrid", "2026-10-23", "02:30 (01:30 UTC)"},
		{"Europe/Madrid", "2026-10-24", "02:30+1 (01:30 UTC)"},
		{"UTC", "2026-10-24", "01:30"},
		{"Pacific/Kiritimati", "2026-10-24", "15:30 (01:30 UTC)"},
		{"Asia/Kathmandu", "2026-10-24", "07:15 (01:30 UTC)"},
		{"Australia/Lord_Howe", "2026-10-03", "12:30+11 (01:30 UTC)"}, // half an hour
		{"America/St_Johns", "2026-10-31", "23:00−2:30 (01:30 UTC)"},
	} {
		loc, err := sky.LoadZone(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := clocksOf(c.zone, c.date).both(near60(at.In(loc))); got != c.want {
			t.Errorf("%s, night of %s: %q, want %q", c.zone, c.date, got, c.want)
		}
	}
}

// The plan is one page, the same bytes for the same plan, for no target that fits, some, and more than have a row.
func TestPlanIsOnePageAndTheSameBytes(t *testing.T) {
	p, d := madeUpNightDoc(t)
	m := terraceMap(t)
	many := *p
	for i := range 30 {
		g := p.Targets[i%3]
		g.Name = strings.Repeat("M", i%4+1) + " " + strings.Repeat("9", i%9+1)
		many.Targets = append(many.Targets, g)
	}
	confirmed := rig.Setup{Night: "2026-10-24", Confirmed: true}
	crowd := Night(m, &many, &many, confirmed)
	empty := *p
	empty.Targets, empty.Schedule, empty.Moon.Up = p.Targets[3:], night.Schedule{}, nil
	for name, c := range map[string]PlanChart{"night": {Plan: p, Doc: d}, "crowd": {Plan: &many, Doc: crowd}, "empty": {Plan: &empty, Doc: Night(m, &empty, &empty, confirmed)}} {
		var first []byte
		for i := range 3 {
			var b bytes.Buffer
			if err := WritePlan(&b, c); err != nil {
				t.Fatal(err)
			}
			if i == 0 {
				first = b.Bytes()
			} else if !bytes.Equal(first, b.Bytes()) {
				t.Fatalf("%s: the same plan gave other bytes", name)
			}
		}
		if n := bytes.Count(first, []byte("/Type /Page\n")); n != 1 {
			t.Errorf("%s: %d pages, want 1", name, n)
		}
		var svg, again, png bytes.Buffer
		if err := c.WriteSVG(&svg); err != nil {
			t.Fatal(err)
		}
		if err := c.WriteSVG(&again); err != nil || !bytes.Equal(svg.Bytes(), again.Bytes()) {
			t.Errorf("%s: the same plan gave another picture (%v)", name, err)
		}
		if err := c.WritePNG(&png, 72); err != nil {
			t.Fatal(err)
		}
		if err := c.WritePNG(&png, 3); err == nil {
			t.Error("3 dots per inch were taken")
		}
		if dir := os.Getenv("LOOK"); dir != "" {
			os.WriteFile(dir+"/plan_"+name+".pdf", first, 0o644)
			os.WriteFile(dir+"/plan_"+name+".svg", svg.Bytes(), 0o644)
			os.WriteFile(dir+"/plan_"+name+".png", png.Bytes(), 0o644)
		}
	}
	if n := len((&PlanChart{Plan: &many, Doc: crowd}).shown()); n != maxPlanRows {
		t.Errorf("%d rows, want %d", n, maxPlanRows)
	}
	bad := PlanChart{Plan: p}
	if err := WritePlan(&bytes.Buffer{}, bad); err == nil || !strings.Contains(err.Error(), `"" is not its date`) {
		t.Errorf("a plan for no night gave %v", err)
	}
}

// Everything that a page says stays on it: no text begins or ends off the paper, and nothing runs into the cautions.
func TestPlanStaysOnThePage(t *testing.T) {
	p, d := madeUpNightDoc(t)
	many := *p
	many.Notes = []string{strings.Repeat("a note that is long ", 15), strings.Repeat("another note ", 20)}
	for i := range 60 {
		g := p.Targets[i%3]
		g.Name = strings.Repeat("a long name ", i%5+1)
		many.Targets = append(many.Targets, g)
	}
	for range 25 {
		many.Schedule.Blocks = append(many.Schedule.Blocks, p.Schedule.Blocks[0])
	}
	m := terraceMap(t)
	for name, c := range map[string]PlanChart{"night": {Plan: p, Doc: d}, "crowd": {Plan: &many, Doc: Night(m, &many, &many, tonight)}} {
		watch := &edges{canvas: newPixels(210, 297, 36)}
		(&planSheet{PlanChart: &c, c: watch, clock: clocksOf(c.Doc.TimeZone, c.Doc.Night)}).draw()
		if watch.left < 5 || watch.right > 205 || watch.top < 5 || watch.bottom > 292 {
			t.Errorf("%s: drawn from %.1f, %.1f to %.1f, %.1f mm", name, watch.left, watch.top, watch.right, watch.bottom)
		}
		sheet := &edges{canvas: newPixels(planWidth, c.height(), 36)}
		c.sheet(sheet)
		if sheet.left < 5 || sheet.right > planWidth-5 || sheet.top < 5 || sheet.bottom > c.height()-3 {
			t.Errorf("%s: the sheet is drawn from %.1f, %.1f to %.1f, %.1f mm of %.1f", name, sheet.left, sheet.top, sheet.right, sheet.bottom, c.height())
		}
		if watch.pair == 0 || watch.pair > watch.foot-1 {
			t.Errorf("%s: the last line before the cautions stands at %.1f mm, they begin at %.1f", name, watch.pair, watch.foot)
		}
	}
}

// The table of the page can be read: its columns stand apart, nothing is shrunk away, and a target without a proven way across has its stop
// and a mark that is explained below.
func TestPlanTableCanBeRead(t *testing.T) {
	m := terraceMap(t)
	p := madeUpNight(t, m, false)
	a := &p.Targets[0].Advice
	*a = night.Advice{Kind: night.NoFlipProven, Stop: a.Stop, Text: "stop at −38 min; no proven way across"}
	c := PlanChart{Plan: p, Doc: Night(m, p, madeUpNight(t, m, true), tonight)}
	all := &texts{canvas: newPixels(210, 297, 36)}
	(&planSheet{PlanChart: &c, c: all, clock: clocksOf(c.Doc.TimeZone, c.Doc.Night)}).draw()
	head := slices.IndexFunc(all.of, func(w word) bool { return w.s == "target" })
	if head < 0 {
		t.Fatal("no table")
	}
	var table string
	bottom := all.of[head].y + 5 + tableRow*float64(len(c.Doc.Targets))
	for i, w := range all.of[head:] {
		if w.y < all.of[head].y || w.y > bottom {
			continue
		}
		table += w.s + "\n"
		if w.size < 1.8 {
			t.Errorf("%q is shrunk to %.1f mm", w.s, w.size)
		}
		for _, o := range all.of[head:][:i] {
			if math.Abs(o.y-w.y) < 1 && o.from < w.to+2 && w.from < o.to+2 {
				t.Errorf("%q and %q run together", o.s, w.s)
			}
		}
	}
	for _, want := range []string{"−38 min [00:06+2]", "not proven *", starNote} {
		if !strings.Contains(table, want+"\n") {
			t.Errorf("no %q in\n%s", want, table)
		}
	}
}

// The parts of what the rig costs add up to the whole minutes that it says.
func TestCostPartsAddUp(t *testing.T) {
	for _, c := range []struct {
		lost LostDoc
		kind night.AdviceKind
		want string
	}{
		{LostDoc{Idle: 25.7, Flip: 3.3}, night.FlipOnce, "idle 26 min, flip 3 min"},
		{LostDoc{NoRoom: 0.4, Idle: 0.4, Flip: 0.4}, night.FlipOnce, "no room 1 min, idle 0 min, flip 1 min"},
		{LostDoc{Flip: 2}, night.FlipOnce, "flip"},
		{LostDoc{Flip: 320}, night.NoFlipProven, "no proven flip"},
	} {
		if got := costParts(&TargetPlan{Lost: c.lost, Advice: AdviceDoc{Kind: c.kind}}); got != c.want {
			t.Errorf("%+v: %q, not %q", c.lost, got, c.want)
		}
	}
}

// texts is a canvas that remembers what is written, and where.
type texts struct {
	canvas
	of []word
}

type word struct {
	s                 string
	from, to, y, size float64
}

func (c *texts) text(at point, s string, l lettering) {
	w := l.width(s)
	c.of = append(c.of, word{s, at.x - l.align*w, at.x + (1-l.align)*w, at.y, l.size})
	c.canvas.text(at, s, l)
}

// edges is a canvas that remembers how far what is drawn reaches.
type edges struct {
	canvas
	left, right, top, bottom float64
	pair, foot               float64
}

func (e *edges) text(at point, s string, l lettering) {
	w := l.width(s)
	if l.up {
		w = 0
	}
	a, z := at.x-l.align*w, at.x+(1-l.align)*w
	if e.right == 0 {
		e.left, e.right, e.top, e.bottom = a, z, at.y, at.y
	}
	e.left, e.right, e.top, e.bottom = math.Min(e.left, a), math.Max(e.right, z), math.Min(e.top, at.y), math.Max(e.bottom, at.y)
	switch {
	case strings.HasPrefix(s, "Margin "):
		e.foot = at.y - l.size
	case at.y < 285 && !strings.HasPrefix(s, "Legroom plans"):
		if e.foot == 0 || at.y < e.foot {
			e.pair = math.Max(e.pair, at.y)
		}
	}
	e.canvas.text(at, s, l)
}
