package web

import (
	"encoding/json"
	"flag"
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/fetch"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"legroom/axes"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
)

// mouse is what a test may change of an event of the mouse.
type mouse = input.DispatchMouseEventParams

var pictures = flag.String("pictures", "", "a folder for pictures of every place in every theme")

var (
	placeIDs   = []string{"rig", "sky", "tonight", "changes", "proof", "watch"}
	placeNames = []string{"Rig", "Sky", "Tonight", "Changes", "Proof", "Watch"}
	themeNames = map[string]string{"light": "light", "dark": "dark", "red": "dim red"}
)

// opened waits until a place stands there with all that it asks the server for.
func (t *tab) opened(place string) {
	t.t.Helper()
	t.until(place+" is open", map[string]string{
		"rig":     "/Limits\\s+west/.test(document.querySelector('.result')?.innerText) && document.querySelector('.chart:not(.stale) canvas')",
		"sky":     "document.body.innerText.includes('Proven in cells down to 0.23') && !document.body.innerText.includes('finer ones are coming')",
		"tonight": "document.querySelector('[role=combobox]') && !document.querySelector('.loading')",
		"changes": "document.querySelector('main select') && document.querySelectorAll('main optgroup option').length > 0", "proof": "document.querySelector('main h2')", "watch": "document.querySelector('main section')",
	}[place])
	t.settled()
}

// Everything is reached and used by keys alone: no mouse event is sent here.
func keyboard(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.opened("rig")
	files := s.names()
	heading := func(i int) {
		s.t.Helper()
		p.until(placeNames[i]+" is there and has the focus", fmt.Sprintf("document.activeElement.matches('h1') && document.activeElement.innerText === %q && location.hash.startsWith('#/%s/')", placeNames[i], placeIDs[i]))
	}
	for i := len(placeIDs) - 1; i >= 0; i-- {
		p.keys(string(rune('1' + i)))
		heading(i)
	}
	for i := 1; i < len(placeIDs); i++ {
		p.tabTo(placeNames[i])
		p.keys(kb.Enter)
		heading(i)
	}
	p.keys("?")
	p.says("dialog[open] h2", "Watch: help")
	p.keys("1") // sleeps while the help is open
	p.keys(kb.Escape)
	p.until("the help is closed", "!document.querySelector('dialog[open]') && location.hash.startsWith('#/watch')")
	p.tabTo("Help")
	p.keys(kb.Enter)
	p.until("the help is open", "document.querySelector('dialog[open]')")
	p.keys(kb.Escape)
	p.until("the focus is where it was", "document.activeElement.innerText?.trim() === 'Help'")
	p.tabTo("light\n")
	p.keys(kb.ArrowLeft) // round the other way
	p.until("the theme is dim red", "document.documentElement.dataset.theme === 'red'")

	// Rig: a length, its slider, the pose, the picture.
	p.keys("1")
	heading(0)
	p.tabTo(heightName)
	p.keys(kb.ArrowUp)
	p.reads(height, "941 ± 3")
	p.keys("z", chromedp.KeyModifiers(chromedp.ModifierCtrl))
	p.reads(height, "940 ± 3")
	p.keys("935" + kb.Enter) // over what was selected or behind it: either is read
	p.until("what was typed was read", "document.activeElement.value.includes('935')")
	p.keys(kb.Escape)
	p.tabTo("Mount\n") // a group that is folded
	p.keys(kb.Enter)
	p.tabTo("Base: Diameter, millimetres")
	p.tabTo("Arrow keys turn the picture")
	before := p.scene()
	p.keys(kb.ArrowLeft + kb.ArrowLeft + "+")
	if now := p.scene(); different(before, now) < 0.01 {
		s.t.Error("the arrow keys did not turn the picture")
	}
	p.tabTo("Hour angle\n")
	p.keys(kb.ArrowRight)
	p.until("the arrow moved the hour angle", "[...document.querySelectorAll('.controls input[type=text]')][0].value === '−0.95'")
	p.tabTo("side west")
	p.keys(kb.ArrowRight)
	p.until("the other side is shown", "/on side east/.test(document.querySelector('.turn').getAttribute('aria-label'))")

	// Sky: the ring, and the pose by it.
	p.keys("2")
	heading(1)
	p.opened("sky")
	p.tabTo("Hour angle by declination")
	p.keys(kb.ArrowRight + kb.ArrowRight + kb.ArrowDown)
	p.until("the ring tells the gap", "/gap|free|undecided|travel|horizon/i.test(document.querySelector('[id$=said]').innerText)")
	p.keys(kb.Enter)
	p.until("the rig points there", "[...document.querySelectorAll('.controls input[type=text]')][1].value === '39.0'")

	// Tonight: a target by a part of its name.
	p.keys("3")
	heading(2)
	p.opened("tonight")
	p.tabTo("Add a target by its name or designation")
	p.keys("andromeda gal")
	p.until("it was found", "/M 31/.test(document.querySelector('[role=option][aria-selected=true]')?.innerText)")
	p.keys(kb.Enter)
	p.until("the night is planned", "document.querySelector('main h2') && /The night of/.test(document.body.innerText) && /M 31/.test(document.querySelector('main table').innerText)")
	if now := s.names(); now != files {
		s.t.Errorf("files were written that nobody saved:\n%s\nbefore:\n%s", now, files)
	}
}

// focusName is what a person calls the element that has the focus.
const focusName = `(() => { const e = document.activeElement; if (e === document.body) return "";
	const l = e.labels?.[0]?.innerText;
	return e.getAttribute("aria-label") ?? (l ? l + "\n" : e.innerText ?? ""); })()`

// tabTo presses Tab until the element has the focus whose name holds words.
func (t *tab) tabTo(words string) {
	t.t.Helper()
	var names []string
	for range 250 {
		t.keys(kb.Tab)
		name := js[string](t, focusName)
		if strings.Contains(name, words) {
			return
		}
		names = append(names, name)
	}
	t.t.Fatalf("Tab does not lead to %q, but to %q", words, names)
}

// Round each place by Tab: every stop has a name, shows that it has the focus, and is not hidden under something else; and the way round ends.
func focusSeen(b *browser, s *site) {
	p := b.visit(s, "rig/balcony-strain-wave")
	for i, place := range placeIDs {
		p.keys(string(rune('1' + i)))
		p.opened(place)
		js[string](p, "document.querySelectorAll('main details').forEach((d) => (d.open = true)), window.scrollTo(0, 0), document.querySelector('.skip').focus(), ''")
		p.settled()
		stops := 0
		for ; stops < 400; stops++ {
			p.keys(kb.Tab)
			at := js[struct{ Name, Tag, Outline, Over, First string }](p, `(() => {
				const e = document.activeElement;
				if (e === document.body) return { Name: "", Tag: "BODY", Outline: "", Over: "", First: "" };
				const marked = e.closest("label:has(:focus-visible)") ?? e;
				const r = (e.classList.contains("aside") ? marked : e).getBoundingClientRect();
				const [x, y] = [(r.left + Math.min(r.right, innerWidth)) / 2, (Math.max(r.top, 0) + Math.min(r.bottom, innerHeight)) / 2];
				const top = document.elementFromPoint(x, y);
				const seen = top && (e.contains(top) || top.contains(e) || marked.contains(top));
				return { Name: `+focusName+`, Tag: e.tagName, Outline: getComputedStyle(e.classList.contains("aside") ? marked : e).outlineStyle,
					Over: seen ? "" : String(top?.outerHTML ?? "nothing").slice(0, 200) + " at " + [x, y], First: String(e.matches(".skip")) };
			})()`)
			if at.Tag == "BODY" || at.First == "true" {
				break
			}
			if strings.TrimSpace(at.Name) == "" {
				s.t.Errorf("%s: a %s without a name takes the focus", place, at.Tag)
			}
			if at.Outline == "none" {
				s.t.Errorf("%s: %s %q does not show its focus", place, at.Tag, at.Name)
			}
			if at.Over != "" {
				s.t.Errorf("%s: %s %q has the focus under %s", place, at.Tag, at.Name, at.Over)
			}
		}
		if stops < 9 || stops == 400 {
			s.t.Errorf("%s: %d stops of Tab", place, stops)
		}
		js[string](p, "document.activeElement.blur(), ''")
	}
}

// The page shows the gaps of `legroom pose`, to the digits that it shows.
func sameGaps(b *browser, s *site) {
	p := b.visit(s, "")
	for _, c := range []struct {
		rig string
		at  []At
	}{
		{"terrace-long-refractor", []At{{"west", -1, 40}, {"east", 5, -12.5}, {"west", 1.5, 60}}},
		{"karoo-newtonian", []At{{"east", 0.25, -70.5}, {"west", -4, 10}}},
		{"balcony-strain-wave", []At{{"west", 2.75, 20}, {"east", -6, 85}}},
	} {
		r, err := rig.Load(filepath.Join("../examples", c.rig+".yaml"))
		if err != nil {
			s.t.Fatal(err)
		}
		m, err := axes.NewModel(r, nil)
		if err != nil {
			s.t.Fatal(err)
		}
		g, err := room.NewGauge(m, room.Options{})
		if err != nil {
			s.t.Fatal(err)
		}
		p.goTo("rig/" + c.rig)
		p.opened("rig")
		p.click("fold", "The nearest pairs as a table")
		for _, at := range c.at {
			p.pose(at)
			side, err := axes.ParseSide(at.Side)
			if err != nil {
				s.t.Fatal(err)
			}
			pose := axes.Pose{Side: side, HourAngle: axes.FromHours(at.HourAngleH), Dec: axes.Rad(at.DecDeg)}
			angles := m.Head.Angles(pose)
			want := report.Pose(g, pose, g.Gap(angles, g.NewScratch()), g.Nearest(angles, 10))
			var rows []string
			for _, n := range want.Nearest {
				rows = append(rows, fmt.Sprintf("%s – %s|%s|%s", n.A, n.B, figure(n.GapMM, 1), figure(math.Floor(n.GapLowerMM*10)/10, 1)))
			}
			got := js[[]string](p, "[...document.querySelectorAll('.gaps tbody tr')].map((r) => [...r.cells].slice(0, 3).map((c) => c.innerText.trim()).join('|'))")
			if strings.Join(got, "\n") != strings.Join(rows, "\n") {
				s.t.Errorf("%s at %v: the page has\n%s\nand not\n%s", c.rig, at, strings.Join(got, "\n"), strings.Join(rows, "\n"))
			}
			verdict := js[string](p, "document.querySelector('.gaps .verdict').innerText")
			if free := strings.HasPrefix(verdict, "Free"); free != want.Free || strings.HasPrefix(verdict, "▲ Not free") == free {
				s.t.Errorf("%s at %v: the page says %q, free is %v", c.rig, at, verdict, want.Free)
			}
			gap := fmt.Sprintf("%s mm", figure(math.Floor(want.Nearest[0].GapMM), 0))
			if want.Nearest[0].GapMM < 0 {
				gap = fmt.Sprintf("overlap %s mm", figure(-want.Nearest[0].GapMM, 0))
			}
			p.says(".labels .near", gap)
			p.says(".gaps .verdict", gap)
		}
	}
}

// figure writes a number as the page does.
func figure(v float64, digits int) string {
	s := fmt.Sprintf("%.*f", digits, v)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// pose points the rig by the fields and waits for the answer.
func (t *tab) pose(at At) {
	t.t.Helper()
	t.click("radio", "side "+at.Side)
	t.fill("textbox", "Hour angle, h", fmt.Sprintf("%v", at.HourAngleH)+kb.Enter)
	t.fill("textbox", "Declination, °", fmt.Sprintf("%v", at.DecDeg)+kb.Enter)
	t.until("the answer is of that pose", fmt.Sprintf("document.querySelector('.gaps[aria-busy=false] caption')?.textContent.includes('side %s') && document.querySelector('.turn').getAttribute('aria-label').includes(%q)",
		at.Side, fmt.Sprintf("hour angle %.2f h, declination %.1f°", at.HourAngleH, at.DecDeg)))
	t.settled()
}

// scene is the 3D picture alone, without what stands over it.
func (t *tab) scene() image.Image {
	t.t.Helper()
	js[string](t, "document.querySelectorAll('.stage .labels, .stage .zoom, .said').forEach((e) => (e.style.display = 'none')), ''")
	t.settled()
	m := t.picture(".stage")
	js[string](t, "document.querySelectorAll('.stage .labels, .stage .zoom, .said').forEach((e) => (e.style.display = '')), ''")
	return m
}

// different is the share of pixels in which two pictures differ.
func different(a, b image.Image) float64 {
	if a.Bounds() != b.Bounds() {
		return 1
	}
	n := 0
	for y := a.Bounds().Min.Y; y < a.Bounds().Max.Y; y++ {
		for x := a.Bounds().Min.X; x < a.Bounds().Max.X; x++ {
			if a.At(x, y) != b.At(x, y) {
				n++
			}
		}
	}
	return float64(n) / float64(a.Bounds().Dx()*a.Bounds().Dy())
}

// The 3D picture shows something, another at another pose and from another side, and the same again at the same.
func picture3D(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.opened("rig")
	p.pose(At{"west", -1, 40})
	first := p.scene()
	colors := map[any]int{}
	for y := first.Bounds().Min.Y; y < first.Bounds().Max.Y; y++ {
		for x := first.Bounds().Min.X; x < first.Bounds().Max.X; x++ {
			colors[first.At(x, y)]++
		}
	}
	most := 0
	for _, n := range colors {
		most = max(most, n)
	}
	if share := float64(most) / float64(first.Bounds().Dx()*first.Bounds().Dy()); len(colors) < 50 || share > 0.97 {
		s.t.Errorf("%d colours, one of them on %.1f%% of the picture: it is blank, or nearly", len(colors), 100*share)
	}
	p.pose(At{"east", 3, -10})
	second := p.scene()
	if d := different(first, second); d < 0.01 {
		s.t.Errorf("two poses differ in %.2f%% of the picture", 100*d)
	}
	p.pose(At{"west", -1, 40})
	if d := different(first, p.scene()); d > 0.0005 {
		s.t.Errorf("the same pose again differs in %.2f%% of the picture", 100*d)
	}
	views := js[[]string](p, "[...document.querySelectorAll('.views button')].map((b) => b.innerText)")
	if len(views) != 6 {
		s.t.Errorf("views %q", views)
	}
	last := first
	for _, v := range views {
		p.click("button", v)
		now := p.scene()
		if d := different(last, now); d < 0.01 {
			s.t.Errorf("the view %s differs in %.2f%% of the picture from the one before", v, 100*d)
		}
		last = now
	}
	p.click("checkbox", "show what the track sweeps")
	p.until("the ghost has come", "!document.querySelector('.task')")
	p.settled()
	if d := different(last, p.scene()); d < 0.01 {
		s.t.Errorf("what the track sweeps is on %.2f%% of the picture", 100*d)
	}
}

// Nothing that the page is made to load comes from elsewhere, and the browser says so. All other tests watch for the same by visit.
func nothingElsewhere(b *browser, s *site) {
	p := b.visit(s, terraceSky)
	p.opened("sky")
	p.settled()
	if w := p.complaints(); len(w) > 0 {
		s.t.Fatalf("the browser complains: %q", w)
	}
	for what, script := range map[string]string{
		"script-src":  "const e = document.createElement('script'); e.src = 'http://127.0.0.1:1/x.js'; document.head.append(e)",
		"img-src":     "new Image().src = 'http://127.0.0.1:1/x.png'",
		"connect-src": "fetch('http://127.0.0.1:1/x').catch(() => 0)",
		"style-src":   "const e = document.createElement('link'); e.rel = 'stylesheet'; e.href = 'http://127.0.0.1:1/x.css'; document.head.append(e)",
		"inline":      "const e = document.createElement('script'); e.textContent = 'window.ran = true'; document.head.append(e)",
	} {
		js[string](p, "(() => { "+script+"; return '' })()")
		soon(s.t, "the browser refuses "+what, func() bool {
			for _, w := range p.complaints() {
				if strings.Contains(w, "Content Security Policy") {
					return true
				}
			}
			return false
		})
	}
	p.settled()
	p.complaints() // that a refused request failed is said once more
	p.mu.Lock()
	asked := len(p.elsewhere)
	p.elsewhere = nil // the browser tells of a request that it refuses too
	p.mu.Unlock()
	if asked == 0 {
		s.t.Error("the watch for requests that go elsewhere has seen none of four")
	}
	if js[bool](p, "window.ran === true") {
		s.t.Error("an inline script ran")
	}
}

// hold keeps requests back whose address matches, until they are let go or all fail; over ends that they fail.
func (t *tab) hold(pattern string) (letGo, fail, over func()) {
	t.t.Helper()
	call(t, fetch.Enable, fetch.EnableParams{Patterns: []*fetch.RequestPattern{{URLPattern: pattern}}})
	letGo = func() {
		t.t.Helper()
		call(t, fetch.ContinueRequest, fetch.ContinueRequestParams{RequestID: <-t.held})
		call(t, fetch.Disable, cdp.Empty{})
		for len(t.held) > 0 {
			<-t.held // Disable let them go
		}
	}
	stop, stopped := make(chan struct{}), make(chan struct{})
	fail = func() {
		go func() {
			defer close(stopped)
			for {
				select {
				case id := <-t.held:
					chromedp.Call(t.ctx, fetch.FailRequest, fetch.FailRequestParams{RequestID: id, ErrorReason: network.ErrorReasonConnectionRefused})
				case <-stop:
					return
				}
			}
		}()
	}
	over = func() {
		t.t.Helper()
		close(stop)
		<-stopped
		call(t, fetch.Disable, cdp.Empty{})
	}
	return letGo, fail, over
}

// What stands where nothing is yet, while something comes, and when it does not.
func states(b *browser, s *site) {
	p := b.visit(s, "watch")
	p.opened("watch")
	fails := func(pattern, hash, words string, again bool) {
		s.t.Helper()
		_, fail, over := p.hold(pattern)
		fail()
		p.goTo(hash)
		p.says("[role=alert]", words)
		over()
		p.expect("ERR_CONNECTION_REFUSED")
		if again {
			p.click("button", "Try again")
			p.until("the second try helps", "!document.querySelector('[role=alert].notice')")
		}
		p.settled()
		p.complaints() // a browser says of a part of the page that did not come what the page says too
	}
	fails("*/api/rigs", "watch", "The list of rigs did not come", true)
	fails("*/api/rigs/*", terraceSky, "The rig did not come", true)
	fails("*/Sky.js", terraceSky, "Sky did not open", false)
	fails("*/api/map", terraceSky, "The map did not come", true)
	p.opened("sky")
	fails("*/api/pose", terraceRig, "No pose", false)
	p.goTo("rig/nothing")
	p.says("[role=alert]", "No rig “nothing” in this folder")

	letGo, _, _ := p.hold("*/api/rigs")
	p.goTo("watch")
	p.says("[role=status]", "Reading the folder")
	letGo()
	p.opened("watch")
	letGo, _, _ = p.hold("*/api/map")
	p.goTo(terraceSky)
	p.says("[role=status]", "Proving the map")
	p.until("its progress shows", "document.querySelector('.said progress')?.getAttribute('aria-label') === 'Proving the map'")
	letGo()
	p.opened("sky")
	p.until("the progress is gone", "!document.querySelector('.said progress')")

	s.write("broken.yaml", "legroom: 1\nname: Broken\nsite: {latitude_deg: 95, longitude_deg: 0, time_zone: UTC}\n")
	var d Doc
	s.post(200, "POST", "/api/read", map[string]string{"id": "broken"}, &d)
	p.says("header option", "▲ cannot be read")
	p.goTo("sky/broken")
	p.says("[role=alert]", "The rig cannot be read yet, so there is no map")
	p.says("[role=alert]", d.Errors[0].Problem)
	p.goTo("rig/broken")
	p.says("[role=alert]", "The text cannot be read as a rig")
	p.says("[role=alert]", d.Errors[0].Problem)

	for _, n := range strings.Split(s.names(), "\n") {
		if err := os.Remove(n); err != nil {
			s.t.Fatal(err)
		}
	}
	for place, words := range map[string]string{"rig": "A new rig", "sky": "No rig in this folder yet", "tonight": "No rig in this folder yet", "changes": "No rig in this folder yet", "proof": "No rig in this folder yet", "watch": "No watch runs here"} {
		p.goTo(place)
		p.says("main", words)
	}
}

// axe is the source of axe-core, which looks for what a person who cannot see or aim well would stumble over. It is a tool of development
// and no part of the page.
func axe(t testing.TB) string {
	data, err := os.ReadFile("page/node_modules/axe-core/axe.min.js")
	if err != nil {
		if os.Getenv("LEGROOM_REQUIRE_TOOLS") == "1" {
			t.Fatal("LEGROOM_REQUIRE_TOOLS is 1: run npm ci in web/page: ", err)
		}
		t.Skip("SKIPPED, the page is NOT searched by axe-core: run npm ci in web/page: ", err)
	}
	return string(data)
}

// Every place in every theme: axe-core finds nothing, and from 360 to 2560 pixels nothing sticks out at the side. With -pictures it
// leaves a picture of each, in two widths.
func everyPlace(b *browser, s *site) {
	source := axe(s.t)
	s.write("terrace-long-refractor.targets.yaml", "- {name: M 31, priority: 1}\n- M 42\n- M 81\n")
	p := b.visit(s, "watch/terrace-long-refractor")
	found := 0
	for _, place := range placeIDs {
		p.goTo(place + "/terrace-long-refractor")
		p.opened(place)
		if place == "tonight" {
			p.until("the night is planned", "/The night of/.test(document.body.innerText)")
			p.settled()
		}
		for theme, name := range themeNames {
			js[string](p, fmt.Sprintf("[...document.querySelectorAll('header input[type=radio]')].find((r) => r.value === %q).click(), ''", theme))
			p.until("the theme is "+name, fmt.Sprintf("document.documentElement.dataset.theme === %q", theme))
			if *pictures != "" {
				for _, width := range []int64{1440, 360} {
					p.size(width, 1000)
					p.settled()
					p.keep(fmt.Sprintf("%s-%s-%d.png", place, theme, width))
				}
				p.size(1440, 1000)
				p.settled()
			}
			if !js[bool](p, "typeof axe === 'object'") {
				js[string](p, source+";''")
			}
			for _, v := range p.violations() {
				s.t.Errorf("%s, %s: %s", place, name, v)
			}
			found++
		}
		js[string](p, "document.querySelectorAll('main details').forEach((d) => (d.open = true)), ''")
		p.settled()
		for _, v := range p.violations() {
			s.t.Errorf("%s, with everything unfolded: %s", place, v)
		}
		for _, width := range []int64{360, 641, 1100, 2560, 1440} {
			p.size(width, 1000)
			p.settled()
			if out := js[[]string](p, `document.documentElement.scrollWidth <= innerWidth ? [] :
				[...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5).map((e) => e.outerHTML.slice(0, 120))`); len(out) > 0 {
				s.t.Errorf("%s, %d pixels wide: these stick out: %q", place, width, out[:min(len(out), 5)])
			}
		}
		p.keys("?")
		p.until("the help is open", "document.querySelector('dialog[open]')")
		for _, v := range p.violations() {
			s.t.Errorf("%s, help: %s", place, v)
		}
		p.keys(kb.Escape)
	}
	if found != 18 {
		s.t.Errorf("%d combinations", found)
	}
	p.do(chromedp.Evaluate[chromedp.Void]("document.querySelector('main').innerHTML = '<img><input>'"))
	if got := p.violations(); len(got) < 2 {
		s.t.Errorf("of a picture and a field without names axe-core finds %q", got)
	}
	p.complaints()
}

// violations is what axe-core finds on the page as it stands.
func (t *tab) violations() []string {
	t.t.Helper()
	var all []struct {
		ID, Help string
		Nodes    []struct{ Target, HTML any }
	}
	found := js[string](t, `axe.run(document, { resultTypes: ["violations"], rules: { "target-size": { enabled: true } } })
		.then((r) => JSON.stringify(r.violations.map((v) => ({ id: v.id, help: v.help, nodes: v.nodes.map((n) => ({ target: n.target, html: n.failureSummary })) }))))`)
	if err := json.Unmarshal([]byte(found), &all); err != nil {
		t.t.Fatal(err)
	}
	var out []string
	for _, v := range all {
		n := v.Nodes[0]
		out = append(out, fmt.Sprintf("%s (%s) on %d elements, such as %v: %v", v.ID, v.Help, len(v.Nodes), n.Target, n.HTML))
	}
	return out
}

// keep writes a picture of the page into the folder of -pictures.
func (t *tab) keep(name string) {
	t.t.Helper()
	data, err := chromedp.Run(t.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*pictures, name), data, 0o644); err != nil {
		t.t.Fatal(err)
	}
}
