package web

import (
	"fmt"
	"testing"

	"legroom/axes"
)

// The server was away while a place was gone to: once it is back, the place stands there with its styles.
func serverAway(b *browser, t *testing.T) {
	w := newWatchedSim(t, 20, 45, 1)
	p := b.visit(newSiteWith(t, Options{Watch: w.Watched}), terraceRig)
	p.opened("rig")
	_, fail, over := p.hold("*")
	fail()
	for i, place := range []string{"Sky", "Watch"} {
		p.keys([]string{"2", "6"}[i])
		p.says("[role=alert]", place+" did not open")
	}
	over()
	p.keys("1")
	p.opened("rig")
	p.keys("6")
	p.stands("Blind")
	if !js[bool](p, `(() => {
		const mark = document.querySelector(".now .state svg").getBoundingClientRect();
		return mark.height < 130 && getComputedStyle(document.querySelector(".stop")).borderTopWidth === "6px";
	})()`) {
		t.Error("the place Watch came without its styles")
	}
	p.keys("2")
	p.opened("sky")
	if js[string](p, "getComputedStyle(document.querySelector('.controls .sliders')).display") != "grid" {
		t.Error("the place Sky came without its styles")
	}
	p.expect("ERR_CONNECTION_REFUSED")
	p.complaints()
}

// Every place says in the words of the place Watch what is wrong with the watch, and so does the tab's title.
func watchEverywhere(b *browser, t *testing.T) {
	w := newWatchedSim(t, 20, 45, 1)
	p := b.visit(newSiteWith(t, Options{Watch: w.Watched}), terraceRig)
	title := func(begins string) {
		t.Helper()
		p.until("the title begins with "+begins, fmt.Sprintf("document.title.startsWith(%q)", begins))
	}
	for i, place := range placeNames[:5] {
		p.keys(string(rune('1' + i)))
		p.says("main h1", place)
		p.says("header a.line", "Watch: Blind: it is not known where the parts are")
		title("▲ Blind · " + place + " · ")
		if *pictures != "" {
			p.size(390, 844)
			p.keep("head-" + place + "-390.png")
			p.size(1440, 1000)
		}
	}
	p.keys("6")
	p.stands("Blind")
	title("▲ Blind · Watch · ")
	p.until("what the place says itself is not said twice", "!document.querySelector('header .line')")
	p.keys("1")
	p.opened("rig")
	if err := w.Watch.ConfirmReference(axes.West); err != nil {
		t.Fatal(err)
	}
	p.says("header a.line", "Stopped")
	if err := w.mount.SetTracking(true); err != nil {
		t.Fatal(err)
	}
	p.until("a watch that sees room needs no words", "!document.querySelector('header .line')")
	title("Rig · ")
	w.Watch.Stop()
	p.says("header a.line", "Stopped: the axes stand still")
	w.end()
	p.says("header a.line", "No status: it is not known whether it is safe")
	title("▲ No status · Rig · ")
}

// A page that is left alone says that its server is gone, and no longer when it is back.
func serverGone(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.opened("rig")
	s.end()
	p.says("header [role=alert]", "No answer from Legroom's server")
	s.serve(Options{})
	p.until("it is back", "!document.querySelector('header .line')")
	p.complaints() // of the stream that broke
}

// The stop is in sight on a phone, upright and lying, and on a screen whose letters are twice as large; and nothing stands over it.
func stopInSight(b *browser, t *testing.T) {
	w := newWatchedSim(t, 20, 45, 1)
	p := b.visit(newSiteWith(t, Options{Watch: w.Watched}), "watch/terrace-riser")
	p.stands("Blind")
	for _, size := range [][2]int64{{390, 844}, {844, 390}, {720, 450}, {1440, 700}, {1100, 800}, {1440, 1000}} {
		p.size(size[0], size[1])
		p.painted()
		if !js[bool](p, `(() => {
			scrollTo(0, 0);
			const s = document.querySelector(".stop").getBoundingClientRect();
			return s.top >= 0 && s.bottom <= innerHeight && [0.02, 0.5, 0.98].every((x) => document.elementFromPoint(s.left + x * s.width, s.top + s.height / 2)?.closest(".stop"));
		})()`) {
			t.Errorf("%d × %d pixels: the stop is not in sight", size[0], size[1])
		}
		if *pictures != "" {
			p.keep(fmt.Sprintf("stop-%d-%d.png", size[0], size[1]))
		}
	}
}

// Every place that shows figures of a draft says so, until it is saved.
func draftEverywhere(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.opened("rig")
	p.fill("textbox", heightName, "951\r")
	js[string](p, "document.activeElement.blur(), ''")
	p.says(".state", "Not saved")
	told := func(yes bool) {
		s.t.Helper()
		for i, place := range placeNames {
			p.keys(string(rune('1' + i)))
			p.says("main h1", place)
			p.painted()
			if got := js[bool](p, "document.querySelector('.draft') !== null"); got != (yes && i > 0 && i < 5) {
				s.t.Errorf("%s says that its figures are of a draft: %v", place, got)
			}
		}
		p.keys("1")
		p.opened("rig")
	}
	told(true)
	p.keys("2")
	p.says(".draft", "These figures are of your draft, not of the saved terrace-long-refractor.yaml.")
	p.says("footer", "your draft, not saved")
	p.keys("1")
	p.opened("rig")
	p.click("button", "Save")
	p.says(".state", "Saved")
	told(false)
}
