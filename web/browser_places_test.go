package web

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

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

// withAxe puts axe-core into the page, which looks for what a person who cannot see or aim well would stumble over. It is a tool of development
// and no part of the page.
func (t *tab) withAxe() {
	t.t.Helper()
	data, err := os.ReadFile("page/node_modules/axe-core/axe.min.js")
	if err != nil {
		if os.Getenv("LEGROOM_REQUIRE_TOOLS") == "1" {
			t.t.Fatal("LEGROOM_REQUIRE_TOOLS is 1: run npm ci in web/page: ", err)
		}
		t.t.Skip("SKIPPED, the page is NOT searched by axe-core: run npm ci in web/page: ", err)
	}
	if !js[bool](t, "typeof axe === 'object'") {
		js[string](t, string(data)+";''")
	}
}

// colours are the rules of axe-core whose answer depends on the theme; all others go by what stands in the page.
var colours = []string{"color-contrast", "link-in-text-block"}

// Every place in every theme: axe-core finds nothing, and from 360 to 2560 pixels nothing sticks out at the side. With -pictures it
// leaves a picture of each, in two widths.
func everyPlace(b *browser, s *site) {
	s.write("terrace-long-refractor.targets.yaml", "- {name: M 31, priority: 1}\n- M 42\n- M 81\n")
	p := b.visit(s, "watch/terrace-long-refractor")
	for _, place := range placeIDs {
		p.goTo(place + "/terrace-long-refractor")
		p.opened(place)
		if place == "tonight" {
			p.until("the night is planned", "/The night of/.test(document.body.innerText)")
			p.settled()
			p.size(390, 844)
			p.until("a phone shows the schedule whole, with its buttons", `document.querySelectorAll(".play").length > 0 && [...document.querySelectorAll(".play button, [aria-label='The schedule as a table'] td")].every((e) => e.getBoundingClientRect().right <= innerWidth)`)
			p.size(1440, 1000)
		}
		p.looks(place)
		p.keys("?")
		p.until("the help is open", "document.querySelector('dialog[open]')")
		for _, v := range p.violations() {
			s.t.Errorf("%s, help: %s", place, v)
		}
		p.keys(kb.Escape)
	}
	p.do(chromedp.Evaluate[chromedp.Void]("document.querySelector('main').innerHTML = '<img><input>'"))
	if got := p.violations(); len(got) < 2 {
		s.t.Errorf("of a picture and a field without names axe-core finds %q", got)
	}
	p.complaints()
}

// looks has axe-core look at a place with everything unfolded, in each theme for what depends on its colours; and at no width anything
// sticks out. It takes a picture of each theme in two widths, as the place opens, when -pictures names a folder.
func (t *tab) looks(place string) {
	t.t.Helper()
	t.withAxe()
	if *pictures != "" {
		for theme := range themeNames {
			t.wear(theme)
			t.portray(place, theme)
		}
	}
	js[string](t, "document.querySelectorAll('main details').forEach((d) => (d.open = true)), ''")
	t.settled()
	for theme, name := range themeNames {
		t.wear(theme)
		for _, v := range t.violations(colours...) {
			t.t.Errorf("%s, %s: %s", place, name, v)
		}
	}
	for _, v := range t.violations() {
		t.t.Errorf("%s: %s", place, v)
	}
	t.fits(place)
}

// wear chooses a theme.
func (t *tab) wear(theme string) {
	t.t.Helper()
	js[string](t, fmt.Sprintf("[...document.querySelectorAll('header input[type=radio]')].find((r) => r.value === %q).click(), ''", theme))
	t.until("the theme is "+themeNames[theme], fmt.Sprintf("document.documentElement.dataset.theme === %q", theme))
}

// portray takes a picture of the place in two widths.
func (t *tab) portray(place, theme string) {
	t.t.Helper()
	for _, width := range []int64{1440, 360} {
		t.size(width, 1000)
		t.settled()
		t.keep(fmt.Sprintf("%s-%s-%d.png", place, theme, width))
	}
	t.size(1440, 1000)
	t.settled()
}

// fits checks that at no width anything sticks out of the page.
func (t *tab) fits(place string) {
	t.t.Helper()
	for _, width := range []int64{360, 641, 1100, 2560, 1440} {
		t.size(width, 1000)
		t.settled()
		if out := js[[]string](t, `document.documentElement.scrollWidth <= innerWidth ? [] :
			[...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5).map((e) => e.outerHTML.slice(0, 120))`); len(out) > 0 {
			t.t.Errorf("%s, %d pixels wide: these stick out: %q", place, width, out[:min(len(out), 5)])
		}
	}
}

// violations is what axe-core finds on the page as it stands, by some of its rules or by all.
func (t *tab) violations(rules ...string) []string {
	t.t.Helper()
	var all []struct {
		ID, Help string
		Nodes    []struct{ Target, HTML any }
	}
	which := `rules: { "target-size": { enabled: true } }`
	if len(rules) > 0 {
		which = `runOnly: ["` + strings.Join(rules, `", "`) + `"]`
	}
	found := js[string](t, `axe.run(document, { resultTypes: ["violations"], `+which+` })
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
