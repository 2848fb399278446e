package web

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	tabs "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"legroom/report"
)

// The page in a real browser, against the real server.
func TestBrowser(t *testing.T) {
	if testing.Short() {
		t.Skip("the browser takes its time")
	}
	b := newBrowser(t)
	for _, c := range []struct {
		name string
		test func(*browser, *site)
	}{
		{"a newcomer", newcomer},
		{"an edit changes the map", editMap},
		{"limits in tenths", tenths},
		{"room once more", roomOnceMore},
		{"an unknown order of the axes", unknownOrder},
		{"who types slowly", slowTyping},
		{"what cannot be", badInput},
		{"what is assumed", assumed},
		{"the horizon", horizonTable},
		{"joints", jointList},
		{"a reload", reload},
		{"a crash of the tab", tabCrash},
		{"a crash of the browser", browserCrash},
		{"a file changed on disk", changedOnDisk},
		{"two tabs", twoTabs},
		{"many tabs", manyTabs},
		{"the keyboard", keyboard},
		{"the focus", focusSeen},
		{"gaps as by legroom pose", sameGaps},
		{"the picture in 3D", picture3D},
		{"nothing from elsewhere", nothingElsewhere},
		{"empty, loading, wrong", states},
		{"a server that is gone", serverGone},
		{"a draft in every place", draftEverywhere},
		{"a pose that is refused", refusedPose},
		{"a length that is refused", refusedLength},
		{"every place in every theme", everyPlace},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(b, newSite(t)) })
	}
}

const (
	terraceRig = "rig/terrace-long-refractor"
	terraceSky = "sky/terrace-long-refractor"
	height     = "support.height_mm" // 940 ± 3 in the example, from terrace/support.yaml
	heightName = "Support: Height, millimetres"
	footName   = "Legs: Foot radius, millimetres"
)

// ready waits until the page has all that follows from the rig as it stands.
func (t *tab) ready() {
	t.t.Helper()
	t.until("the limits are there", "/Limits\\s+west/.test(document.querySelector('.result')?.innerText) && !document.querySelector('[aria-busy=true]')")
	t.until("the map is there", "document.querySelector('.chart canvas')")
	t.settled()
}

// editable waits until the measures stand there and can be typed into, whatever else is still being worked out.
func (t *tab) editable() {
	t.t.Helper()
	t.until("the measures are there", "document.querySelector('input[data-path]') && document.querySelector('footer dd')")
}

// map is the map's pixels, once they are of the rig as it stands; while they are not, it is empty.
func (t *tab) mapped() string {
	t.t.Helper()
	return js[string](t, `(async () => {
		const chart = document.querySelector(".chart:not(.stale) canvas");
		if (!chart) return "";
		const sum = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(chart.toDataURL()));
		return [...new Uint8Array(sum)].map((b) => b.toString(16).padStart(2, "0")).join("");
	})()`)
}

// fingerprint is the one that stands at the foot of the page.
func (t *tab) fingerprint() string {
	t.t.Helper()
	return js[string](t, "document.querySelector('footer dd')?.innerText ?? ''")
}

// reads waits until the field of a document path has a value.
func (t *tab) reads(path, value string) {
	t.t.Helper()
	t.until(path+" reads "+value, fmt.Sprintf("document.querySelector('input[data-path=%q]')?.value === %q", path, value))
}

// A newcomer comes from an empty folder to the two numbers to enter with all lengths of the template measured, in at most 15
// interactions. One interaction is a press of a button, or what is typed into one field with the Enter behind it.
func newcomer(b *browser, s *site) {
	names, err := os.ReadDir(s.dir)
	if err != nil {
		s.t.Fatal(err)
	}
	for _, n := range names {
		if err := os.RemoveAll(filepath.Join(s.dir, n.Name())); err != nil {
			s.t.Fatal(err)
		}
	}
	p := b.visit(s, "")
	interactions := 0
	enter := func(words string) {
		interactions++
		p.keys(words + kb.Enter)
	}
	p.says("h2", "A new rig")
	interactions++
	p.click("radio", "Newtonian…")
	p.click("textbox", "Where it stands: latitude, longitude") // a field that is typed into next: the same interaction
	enter("36.9, -3.4")
	var asked int
	for i := 1; ; i++ {
		p.until("the next length is asked for, or the rig is there", fmt.Sprintf("document.body.innerText.includes('Length %d of ') || document.querySelector('.result')", i))
		if js[bool](p, "!!document.querySelector('.result')") {
			break
		}
		asked = js[int](p, `Number(/Length \d+ of (\d+)/.exec(document.body.innerText)[1])`)
		p.until("the field has the focus", "document.activeElement.matches('input.length') && document.activeElement.value === ''")
		if !js[bool](p, "!!document.querySelector('.ask svg [class*=dimension]')") {
			s.t.Errorf("length %d is not drawn", i)
		}
		usual := js[string](p, "document.activeElement.placeholder")
		enter(regexp.MustCompile(`^[^ ±]+`).FindString(usual) + " ± 2")
	}
	p.until("the limits are there", "/Limits\\s+west/.test(document.querySelector('.result')?.innerText)")
	s.t.Logf("%d interactions to the limits, of %d lengths", interactions, asked)
	if interactions > 15 {
		s.t.Errorf("%d interactions, more than 15", interactions)
	}
	if asked < 6 || interactions != asked+2 {
		s.t.Errorf("%d interactions for %d lengths", interactions, asked)
	}
	p.ready()
	var l report.LimitsDoc
	s.post(200, "POST", "/api/limits", map[string]any{"id": "my-rig"}, &l)
	want := fmt.Sprintf("west %.0f°, east %.0f°", l.TwoNumber.WestEntryDeg, l.TwoNumber.EastEntryDeg)
	p.says(".result", want)
	if got := s.file("my-rig.yaml"); !strings.Contains(got, "± 2") || !strings.Contains(got, "latitude_deg: 36.9") || strings.Count(got, "± 2") < asked {
		s.t.Errorf("%d lengths were measured, and the file is\n%s", asked, got)
	}
}

// A mount that takes tenths of a degree is given them: a limit that were rounded might be beyond what is proven.
func tenths(b *browser, s *site) {
	const name = "balcony-strain-wave"
	text := strings.Replace(s.file(name+".yaml"), "entry_step_deg: 1\n", "entry_step_deg: 0.1\n", 1)
	if err := os.WriteFile(filepath.Join(s.dir, name+".yaml"), []byte(text), 0o644); err != nil {
		s.t.Fatal(err)
	}
	var l report.LimitsDoc
	s.post(200, "POST", "/api/limits", map[string]any{"id": name}, &l)
	two := l.TwoNumber
	if two.WestEntryDeg == math.Round(two.WestEntryDeg) && two.EastEntryDeg == math.Round(two.EastEntryDeg) {
		s.t.Fatalf("%v° and %v° tell nothing", two.WestEntryDeg, two.EastEntryDeg)
	}
	p := b.visit(s, "rig/"+name)
	p.says(".result", fmt.Sprintf("west %v°, east %v°", two.WestEntryDeg, two.EastEntryDeg))
	p.says(".result", fmt.Sprintf("Room %.0f", math.Floor(l.RoomPercent.Either)))
}

// A side that has room once more behind a contact is marked in the table of limits, and its other stretches stand below.
func roomOnceMore(b *browser, s *site) {
	var l report.LimitsDoc
	s.post(200, "POST", "/api/limits", map[string]any{"id": "karoo-newtonian"}, &l)
	marked, bands := 0, 0
	for _, r := range l.ByDeclination {
		before := marked
		for _, others := range [][]report.Span{r.WestOtherH, r.EastOtherH} {
			for _, run := range others {
				if math.Ceil(run[0]*60) <= math.Floor(run[1]*60) {
					marked++
					break
				}
			}
		}
		if marked > before {
			bands++
		}
	}
	if marked == 0 {
		s.t.Fatal("no side of the rig has room once more: this tells nothing")
	}
	p := b.visit(s, "sky/karoo-newtonian")
	p.opened("sky")
	p.click("fold", "Limits by declination as a table")
	p.until("each such side is marked", fmt.Sprintf("[...document.querySelectorAll('td')].filter((e) => e.innerText.includes('†')).length === %d", marked))
	p.says("details[open] p", "† More room on that side, cut off by a contact")
	p.until("each such band is told", fmt.Sprintf("document.querySelectorAll('details[open] > ul li').length === %d", bands))
}

// What it costs that nobody has said in which order the mount turns its axes stands beside the limits, in the figures of the API; and
// nothing of it where the document says the order.
func unknownOrder(b *browser, s *site) {
	var l report.LimitsDoc
	s.post(200, "POST", "/api/limits", map[string]any{"id": "balcony-strain-wave"}, &l)
	if len(l.SlewOrders) != 4 {
		s.t.Fatalf("%d orders: this tells nothing", len(l.SlewOrders))
	}
	var want []string
	for _, o := range l.SlewOrders {
		min := int(math.Floor(o.FlipMin))
		words := fmt.Sprintf("%d h %02d min", min/60, min%60)
		if min < 60 {
			words = fmt.Sprintf("%d min", min)
		}
		if o.NoFlip > 0 {
			words += fmt.Sprintf(" %d of %d bands have none", o.NoFlip, o.Bands)
		}
		want = append(want, words)
	}
	p := b.visit(s, "sky/balcony-strain-wave")
	p.says("[aria-label='Room and limits'] h2", "Slews: which axis turns first is unknown")
	got := js[[]string](p, `[...document.querySelectorAll("[aria-label='Room and limits'] tbody td")].map((e) => e.innerText.replace(/\s+/g, " "))`)
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		s.t.Errorf("the page has %q, the API %q", got, want)
	}
	s.write("known.yaml", strings.Replace(s.file("balcony-strain-wave.yaml"), "axis_order: unknown", "axis_order: ra_first", 1))
	p.goTo("sky/known")
	p.says("[aria-label='Room and limits']", "track until")
	if js[bool](p, "document.body.innerText.includes('turns first')") {
		s.t.Error("the order is known, and the page says that it is not")
	}
}

// A length changes what is proven; the file stays as it is until it is saved.
func editMap(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.ready()
	before, print, file := p.mapped(), p.fingerprint(), s.file("terrace-long-refractor.yaml")
	becomes := func(what string, holds func(now string) bool) {
		s.t.Helper()
		soon(s.t, what, func() bool {
			p.settled()
			now := p.mapped()
			return now != "" && holds(now)
		})
	}
	if before == "" || print == "" {
		s.t.Fatalf("map %q, fingerprint %q", before, print)
	}
	becomes("the map rests", func(now string) bool { before, now = now, before; return now == before })
	limits := js[string](p, "document.querySelector('.result').innerText")

	p.fill("textbox", footName, "700 ± 5"+kb.Enter)
	becomes("the map is another", func(now string) bool { return now != before && p.fingerprint() != print })
	p.until("the limits are others", fmt.Sprintf("!document.querySelector('[aria-busy=true]') && document.querySelector('.result').innerText !== %q", limits))
	p.says(".state", "Not saved")
	after, changed := p.mapped(), p.fingerprint()
	if got := s.file("terrace-long-refractor.yaml"); got != file {
		s.t.Errorf("the file was written before it was saved:\n%s", got)
	}

	p.click("button", "Undo")
	becomes("undo brings the first map back", func(now string) bool { return now == before && p.fingerprint() == print })
	p.says(".state", "Saved")
	p.click("button", "Redo")
	becomes("redo brings the second map back", func(now string) bool { return now == after && p.fingerprint() == changed })
	p.keys("z", chromedp.KeyModifiers(chromedp.ModifierCtrl))
	becomes("Ctrl+Z brings the first map back", func(now string) bool { return now == before })

	// While a slider is held, the map follows.
	x, y := p.middle("slider", "Legs: Foot radius, try other values")
	p.do(chromedp.MouseEvent("mousePressed", x, y, chromedp.ButtonLeft, func(e *mouse) { e.ClickCount = 1 }))
	p.do(chromedp.MouseEvent("mouseMoved", x+40, y, chromedp.ButtonLeft))
	becomes("the map follows the slider", func(now string) bool { return now != before && now != after })
	held := p.fingerprint()
	p.do(chromedp.MouseEvent("mouseReleased", x+40, y, chromedp.ButtonLeft, func(e *mouse) { e.ClickCount = 1 }))

	p.click("button", "Save")
	p.says(".state", "Saved")
	got := s.file("terrace-long-refractor.yaml")
	var saved RigText
	if err := json.Unmarshal([]byte(s.get(200, "GET", "/api/rigs/terrace-long-refractor", "")), &saved); err != nil || saved.Doc.Fingerprint != held {
		s.t.Errorf("saved %s, the page showed %s (%v)", saved.Doc.Fingerprint, held, err)
	}
	if !strings.Contains(got, "foot_radius_mm:") || strings.Count(got, "#") < strings.Count(file, "#") {
		s.t.Errorf("what was saved has no such length, or lost its comments:\n%s", got)
	}
}

// What cannot be is said beside the field, by the page at once and otherwise in the loader's words, and the rig stays what it was.
func badInput(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.editable()
	print := p.fingerprint()
	p.fill("textbox", heightName, "tall"+kb.Enter)
	p.says(".field:has(input[data-path='support.height_mm'])", "“tall” is no length: write 460 ± 5")
	p.keys(kb.Escape)
	p.reads(height, "940 ± 3")

	for _, c := range []struct{ field, path, value string }{
		{"Legs: Count", "support.legs.count", "2"},
		{heightName, height, "900000"},
		{"Tray: Height, millimetres", "support.tray.height_mm", "2000"},
	} {
		var wanted Edited
		s.post(200, "POST", "/api/edit", map[string]any{"id": "terrace-long-refractor", "changes": []Change{{"set", c.path, c.value}}}, &wanted)
		if len(wanted.Doc.Errors) == 0 {
			s.t.Errorf("%s: %s is right for the loader: this shows nothing", c.path, c.value)
			continue
		}
		p.fill("textbox", c.field, c.value+kb.Enter)
		e := wanted.Doc.Errors[0]
		p.says(fmt.Sprintf(".field:has(input[data-path=%q][aria-invalid=true])", c.path), strings.Join(strings.Fields("▲ "+says(e, c.path)), " "))
		p.click("textbox", c.field)
		p.keys(kb.Escape)
		p.says(".state", "Saved")
	}
	if now := p.fingerprint(); now != print {
		s.t.Errorf("what cannot be changed the rig: %s, was %s", now, print)
	}

	// The same in the text: where, what, what would be right; the figures are of the last one that could be read.
	p.click("fold", "The file’s text")
	p.click("textbox", "terrace-long-refractor.yaml, as it will be saved")
	p.keys("a", chromedp.KeyModifiers(chromedp.ModifierCtrl))
	p.keys("legroom: 1\nname: [")
	p.says("[role=alert]", "The text cannot be read as a rig; figures are of the last one that could")
	p.says("[role=alert] li", "terrace-long-refractor.yaml:2:")
	if now := p.fingerprint(); now != print {
		s.t.Errorf("figures are of %s, not of the last rig that could be read, %s", now, print)
	}
	p.click("button", "Undo")
	p.until("undo brings the text back", "!document.querySelector('.errors')")
	p.says(".state", "Saved")
}

// says gives a defect as the page does.
func says(e Defect, at string) string {
	words := e.Problem
	if e.Path != "" && e.Path != at {
		words = e.Path + ": " + words
	}
	if e.Remedy != "" {
		words += "; " + e.Remedy
	}
	return words
}

// A reload keeps what was not saved, says so, and lets the owner go back to the file and forth again.
func reload(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.editable()
	file := s.file("terrace-long-refractor.yaml")
	p.fill("textbox", heightName, "955 ± 2"+kb.Enter)
	p.says(".state", "Not saved")
	p.do(chromedp.Reload())
	p.says(".told", "These are your unsaved changes of")
	p.reads(height, "955 ± 2")
	p.click("button", "Take the file as it is")
	p.reads(height, "940 ± 3")
	p.says(".state", "Saved")
	p.click("button", "Undo")
	p.reads(height, "955 ± 2")
	if got := s.file("terrace-long-refractor.yaml"); got != file {
		s.t.Errorf("the file was written:\n%s", got)
	}
}

// A tab that dies leaves its draft to the next one.
func tabCrash(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.editable()
	p.fill("textbox", heightName, "956 ± 2"+kb.Enter)
	p.says(".state", "Not saved")
	dead := make(chan struct{})
	go func() {
		defer close(dead)
		chromedp.Call(p.ctx, tabs.Crash, cdp.Empty{}) // a dead tab gives no answer
	}()
	p.gone()
	p.close()
	<-dead
	q := b.visit(s, terraceRig)
	q.says(".told", "These are your unsaved changes of")
	q.reads(height, "956 ± 2")
}

// A browser that is killed leaves its draft to the next one, once it stands on the disk.
func browserCrash(_ *browser, s *site) {
	profile := s.t.TempDir()
	b := newBrowser(s.t, chromedp.UserDataDir(profile))
	p := b.visit(s, terraceRig)
	p.editable()
	p.fill("textbox", heightName, "957 ± 2"+kb.Enter)
	p.says(".state", "Not saved")
	soon(s.t, "the browser has written the draft to its profile", func() bool { return holds(profile, "957 ") })
	if err := b.cmd.Process.Kill(); err != nil {
		s.t.Fatal(err)
	}
	p.close()
	soon(s.t, "the browser is gone", func() bool { return chromedp.Do(b.ctx) != nil || b.ctx.Err() != nil })
	p.complaints()
	q := newBrowser(s.t, chromedp.UserDataDir(profile)).visit(s, terraceRig)
	q.says(".told", "These are your unsaved changes of")
	q.reads(height, "957 ± 2")
}

// holds tells whether a browser's profile holds words in what pages keep.
func holds(profile, words string) bool {
	files, _ := filepath.Glob(filepath.Join(profile, "*", "Local Storage", "leveldb", "*.log"))
	var wide strings.Builder // text is kept in one byte a character or in two
	for _, c := range words {
		wide.WriteString(string(c) + "\x00")
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err == nil && (strings.Contains(string(data), words) || strings.Contains(string(data), wide.String())) {
			return true
		}
	}
	return false
}

// What someone writes to the file is noticed, and never written over.
func changedOnDisk(b *browser, s *site) {
	const file = "terrace-long-refractor.yaml"
	p := b.visit(s, terraceRig)
	p.editable()
	first := s.file(file)
	byHand := strings.Replace(first, "margin_mm: 30", "margin_mm: 33", 1) + "# by hand\n"
	s.write(file, byHand)
	p.says(".said", "was changed on disk: the page shows it as it is now")
	p.says("footer", "33 mm")

	p.fill("textbox", heightName, "958 ± 2"+kb.Enter)
	p.says(".state", "Not saved")
	again := strings.Replace(byHand, "margin_mm: 33", "margin_mm: 34", 1)
	s.write(file, again)
	p.keys("s", chromedp.KeyModifiers(chromedp.ModifierCtrl)) // most likely before the page has noticed
	p.says("[role=alert]", "was changed on disk since you read it")
	p.says(".state", "Changed on disk")
	p.until("nothing can be saved", "[...document.querySelectorAll('.bar button')].find((b) => b.innerText.trim() === 'Save').disabled")
	p.keys("s", chromedp.KeyModifiers(chromedp.ModifierCtrl))
	p.settled()
	if got := s.file(file); got != again {
		s.t.Fatalf("what was written by hand is gone:\n%s", got)
	}
	p.mayHaveRefused()

	p.click("button", "Take the file’s (undo brings mine back)")
	p.says("footer", "34 mm")
	p.reads(height, "940 ± 3")
	p.click("button", "Undo")
	p.reads(height, "958 ± 2")

	// Once more, and this time mine is kept beside it.
	s.write(file, again+"# later\n")
	p.says("[role=alert]", "was changed on disk since you read it")
	p.click("button", "Keep mine as a copy")
	p.until("the copy is open", "location.hash !== '#/"+terraceRig+"'")
	p.reads(height, "958 ± 2")
	if got := s.file(file); got != again+"# later\n" {
		s.t.Errorf("what was written by hand is gone:\n%s", got)
	}
	copied, err := filepath.Glob(filepath.Join(s.dir, "terrace-long-refractor-*.yaml"))
	if err != nil || len(copied) != 1 || !strings.Contains(s.file(filepath.Base(copied[0])), "958 ± 2") {
		s.t.Errorf("copies %v (%v)", copied, err)
	}
}

// mayHaveRefused takes the server's refusal to write over a newer file off the browser's complaints: it is what was wanted, when the
// page had not noticed before.
func (t *tab) mayHaveRefused() {
	t.mu.Lock()
	defer t.mu.Unlock()
	var left []string
	for _, w := range t.wrong {
		if !strings.Contains(w, "409 (Conflict)") {
			left = append(left, w)
		}
	}
	t.wrong = left
}

// Two tabs with one rig know of each other, and neither writes over the other.
func twoTabs(b *browser, s *site) {
	const file = "terrace-long-refractor.yaml"
	p := b.visit(s, terraceRig)
	p.editable()
	q := b.visit(s, terraceRig)
	q.says(".told", "This rig is open in another tab too")
	p.says(".told", "This rig is open in another tab too")

	front := func(t *tab) { call(t, tabs.BringToFront, cdp.Empty{}) }
	front(p)
	p.fill("textbox", heightName, "961 ± 2"+kb.Enter)
	p.says(".state", "Not saved")
	front(q)
	q.fill("textbox", heightName, "962 ± 2"+kb.Enter)
	q.says(".state", "Not saved")
	front(p)
	p.reads(height, "961 ± 2")
	p.click("button", "Save")
	p.says(".state", "Saved")
	front(q)
	q.says("[role=alert]", "was changed on disk since you read it")
	q.reads(height, "962 ± 2")
	q.keys("s", chromedp.KeyModifiers(chromedp.ModifierCtrl))
	q.settled()
	if got := s.file(file); !strings.Contains(got, "961 ± 2") || strings.Contains(got, "962 ± 2") {
		s.t.Errorf("one tab wrote over the other:\n%s", got)
	}
	q.mayHaveRefused()
}

// A browser has six connections to one server: more tabs of a window than that do without.
func manyTabs(b *browser, s *site) {
	var first *tab
	for range 8 {
		p := b.visit(s, "proof/terrace-riser", chromedp.WithNewWindow(first == nil))
		p.opened("proof")
		if first == nil {
			first = p
		}
	}
	// One that was hidden meanwhile has what it missed.
	s.write("terrace-riser.yaml", strings.Replace(s.file("terrace-riser.yaml"), "margin_mm: 30", "margin_mm: 33", 1))
	call(first, tabs.BringToFront, cdp.Empty{})
	first.says("footer", "33 mm")
}
