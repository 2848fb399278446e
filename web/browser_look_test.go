package web

import (
	"flag"
	"fmt"
	"strings"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/fetch"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
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
