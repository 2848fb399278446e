package web

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"
)

// choose sets a list of choices to a value, as a person does.
func (t *tab) choose(name, value string) {
	t.t.Helper()
	at := fmt.Sprintf("[...document.querySelectorAll('select')].find((s) => (s.getAttribute('aria-label') ?? s.labels[0]?.innerText) === %q)", name)
	t.until("there is a choice "+name+" with "+value, fmt.Sprintf("[...(%s?.options ?? [])].some((o) => o.value === %q && !o.disabled)", at, value))
	js[string](t, fmt.Sprintf("(() => { const s = %s; s.value = %q; s.dispatchEvent(new Event('change', { bubbles: true })); return ''; })()", at, value))
}

// Who types slowly has what stands so far proven meanwhile, and goes on typing in the same text.
func slowTyping(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.editable()
	print := p.fingerprint()
	p.fill("textbox", heightName, "958")
	soon(s.t, "the length so far is taken", func() bool { return p.fingerprint() != print })
	p.settled()
	p.reads(height, "958")
	p.keys(" ± 2" + kb.Enter)
	p.reads(height, "958 ± 2")
}

// How tolerances add up and which conditions hold changes the limits and the map, in each place, and says so; until the new answer
// is there the old one does not pass for it.
func assumed(b *browser, s *site) {
	p := b.visit(s, "rig/terrace-riser")
	p.ready()
	p.opened("rig")
	result := "document.querySelector('.result').innerText"
	usual, before := js[string](p, result), p.mapped()
	p.click("fold", "Assumed: tolerances taken off as independent errors; conditions at their worst")

	letGo, _, _ := p.hold("*/api/map")
	p.choose("Tolerances", "worst")
	p.until("the map of before is marked", "document.querySelector('.chart.stale')")
	letGo()
	p.opened("rig")
	p.ready()
	p.says(".assumed", "Assumed, chosen by you: tolerances taken off with all at their worst")
	p.says(".gaps", "tolerances taken off with all at their worst")
	if now := js[string](p, result); now == usual {
		s.t.Errorf("with all tolerances at their worst it says the same: %s", now)
	}
	if now := p.mapped(); now == before {
		s.t.Error("with all tolerances at their worst the map is the same")
	}

	p.choose("Tolerances", "none")
	p.choose("Condition: focuser travel", "without")
	p.says(".assumed", "no tolerances taken off: for comparison, not for the mount; “focuser travel” does not hold")
	js[string](p, "document.activeElement.blur(), ''")
	p.keys("2")
	p.opened("sky")
	p.says(".assumed", "▲ no tolerances taken off")
	p.says(".legend", "no tolerances taken off")
	p.click("fold", "Assumed, chosen by you: ▲ no tolerances taken off…")
	p.choose("Tolerances", "rss")
	p.choose("Condition: focuser travel", "worst")
	js[string](p, "document.activeElement.blur(), ''")
	p.keys("1")
	p.ready()
	p.until("it says what it said at first", fmt.Sprintf("%s === %q", result, usual))
}

// The horizon is a table with a drawing: a point is added, changed, refused with the reason, taken away.
func horizonTable(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.editable()
	p.click("fold", "Site and margin…")
	rows := func() string {
		return js[string](p, "[...document.querySelectorAll('[aria-label=Horizon] tbody tr')].map((r) => [...r.querySelectorAll('input')].map((i) => i.value).join(' ')).join(', ')")
	}
	const first = "0 14, 40 11, 75 7, 110 5, 180 4, 235 6, 265 18, 290 18, 300 9, 330 12"
	if got := rows(); got != first {
		s.t.Errorf("the table has %s", got)
	}
	drawn := js[string](p, "document.querySelector('[aria-label=Horizon] polyline').getAttribute('points')")
	p.click("button", "point of the horizon")
	p.until("the new point has the focus", "document.activeElement.value === '145' && document.activeElement.matches('[aria-label=Horizon] input')")
	if now := js[string](p, "document.querySelector('[aria-label=Horizon] circle.chosen').getAttribute('cx')"); now != "145" {
		s.t.Errorf("the drawing marks azimuth %s", now)
	}
	p.fill("textbox", "Horizon, point 5: altitude, degrees", "22,5"+kb.Tab)
	soon(s.t, "the point is another", func() bool { return strings.Contains(rows(), "110 5, 145 22.5, 180 4") })
	if now := js[string](p, "document.querySelector('[aria-label=Horizon] polyline').getAttribute('points')"); now == drawn {
		s.t.Error("the drawing is as it was")
	}
	p.fill("textbox", "Horizon, point 5: altitude, degrees", "95"+kb.Enter)
	p.says("[aria-label=Horizon] [role=alert]", "the altitude 95 is not possible; write -90 to 90 degrees above the horizontal")
	p.keys(kb.Escape)
	p.until("it is as it was", "document.activeElement.value === '22.5' && !document.querySelector('[aria-label=Horizon] [role=alert]')")
	p.click("button", "Take point 1 of the horizon away")
	soon(s.t, "the first point is gone", func() bool { return strings.HasPrefix(rows(), "40 11, ") })
	p.click("button", "Save")
	p.says(".state", "Saved")
	if got := s.file("terrace-long-refractor.yaml"); !strings.Contains(got, "horizon: [[40, 11], [75, 7], [110, 5], [145, 22.5], [180, 4]") {
		s.t.Errorf("saved:\n%s", got)
	}
}

// Joints are pairs of two choices: one is added, changed and taken away. These two never meet; a joint of two that do is refused.
func jointList(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.editable()
	print := p.fingerprint()
	p.click("fold", "Extra parts and obstacles…")
	n := js[int](p, "document.querySelectorAll('.joint').length")
	p.choose("New joint: one part", "finder")
	p.choose("New joint: the other part", "counterweight 2")
	p.says("[aria-label=Joints]", "These two are joined already")
	p.choose("New joint: the other part", "tray")
	p.click("button", "joint")
	p.until("the joint is there", fmt.Sprintf("document.querySelectorAll('.joint').length === %d", n+1))
	soon(s.t, "the rig is another", func() bool { return p.fingerprint() != print })
	text := func() string { return js[string](p, "document.querySelector('#rig-text').value") }
	if got := text(); !strings.Contains(got, "joints:") || !strings.Contains(got, "[finder, tray]") && !strings.Contains(got, `["finder", "tray"]`) {
		s.t.Errorf("the text is\n%s", got)
	}
	p.choose("Joint 1: the other part", "counterweight 1")
	soon(s.t, "the joint is another", func() bool {
		return strings.Contains(text(), "counterweight 1") && !strings.Contains(text(), "counterweight 2")
	})
	p.click("button", "Take joint 1 away")
	p.until("the joint is gone", fmt.Sprintf("document.querySelectorAll('.joint').length === %d", n))
	soon(s.t, "the rig is as it was", func() bool { return p.fingerprint() == print })
}

// An address that names no rig leads to the one that is watched.
func TestBrowserWatchedRig(t *testing.T) {
	w := newWatchedSim(t, 20, 45, 1)
	s := newSiteWith(t, Options{Watch: w.Watched})
	w.Gauge = gaugeOf(t, s, "terrace-riser")
	p := newBrowser(t).visit(s, "")
	p.until("the watched rig is chosen", "document.querySelector('header select')?.value === 'terrace-riser'")
	p.says("header option", "(watched)")
}
