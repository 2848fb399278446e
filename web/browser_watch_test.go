package web

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"

	"legroom/mount/sim"
	"legroom/watch"
)

// The place Watch in a browser, against the simulated mount.
func TestBrowserWatch(t *testing.T) {
	b := newBrowser(t)
	for _, c := range []struct {
		name string
		run  func(b *browser, t *testing.T)
	}{
		{"no watch", noWatch}, {"a night", watchedNight}, {"the loop hangs", watchHangs}, {"the server is out of reach", stopOutOfReach},
		{"three pages and a stop", threePages}, {"every state in every theme", watchLooks}, {"a night played back", playedBack},
	} {
		t.Run(c.name, func(t *testing.T) { c.run(b, t) })
	}
}

// stands waits until the place says how it stands.
func (t *tab) stands(words string) {
	t.t.Helper()
	t.says(".now .state", words)
}

// big is what stands large for time left and gap.
func (t *tab) big() string {
	t.t.Helper()
	return js[string](t, "[...document.querySelectorAll('.now dd > span:last-child')].map((e) => e.innerText).join(' | ')")
}

func noWatch(b *browser, t *testing.T) {
	p := b.visit(newSite(t), "watch/terrace-riser")
	p.says("main", "No watch runs here")
	p.says("main code", startWatch)
	if js[bool](p, "document.querySelector('.stop') !== null") {
		t.Error("a stop button that stops nothing")
	}
}

// Blind until somebody looks, then figures, then the owner's stop by the keyboard, letting go, an alarm that is heard and stays.
func watchedNight(b *browser, t *testing.T) {
	w := newWatchedSim(t, 20, 45, 1)
	p := b.visit(newSiteWith(t, Options{Watch: w.Watched}), "watch/terrace-riser")
	p.stands("Blind")
	p.says(".now", "Nobody has looked yet")
	if got := p.big(); got[:5] != "blind" {
		t.Errorf("large: %s", got)
	}
	p.until("both alarms are told loudly, once", "document.querySelector('[aria-label=Alarms] [role=alert]').textContent.includes('nobody has confirmed')")
	p.click("button", "It stands so, side west")
	p.stands("Stopped")
	p.click("button", "I have heard it")
	p.says("[aria-label=Alarms] li", "heard, not over")
	if err := w.mount.SetTracking(true); err != nil {
		t.Fatal(err)
	}
	p.stands("Room enough")
	p.says("[aria-label=Alarms]", "No alarm.")
	st := w.Watch.Status()
	left := time.Duration(*st.LeftS * float64(time.Second)).Truncate(time.Minute)
	want := fmt.Sprintf("%d:%02dh | %dmm", int(left.Hours()), int(left.Minutes())%60, int(*st.Sample.LowerMM))
	p.until("the figures are the watch's: "+want, fmt.Sprintf("[...document.querySelectorAll('.now dd > span:last-child')].map((e) => e.innerText).join(' | ') === %q", want))
	p.says(".now", st.Sample.A+" to "+st.Sample.B)
	p.keys("0")
	p.stands("Stopp")
	p.says(".now", "Your stop is held")
	soon(t, "it stands still", func() bool { return !w.mount.State().Tracking })
	p.click("button", "Let go of the stop")
	p.until("the stop is let go", "!document.querySelector('.now').innerText.includes('is held')")
	p.says("[aria-label='What happened']", "the owner has let go of the stop")
}

// A loop that does not come round: nothing that was said before stands there as if it were now.
func watchHangs(b *browser, t *testing.T) {
	w := newWatchedSim(t, 20, 45, 1)
	if err := w.mount.SetTracking(true); err != nil {
		t.Fatal(err)
	}
	s := newSiteWith(t, Options{Watch: w.Watched})
	p := b.visit(s, "watch/terrace-riser")
	p.click("button", "It stands so, side west")
	p.stands("Stopped")
	begun := time.Now()
	w.end()
	p.stands("No status")
	if took := time.Since(begun); took < 2*time.Second || took > 6*time.Second {
		t.Errorf("it took %v to say that nothing is heard", took)
	}
	if got := p.big(); got != "? | ?" {
		t.Errorf("large: %s", got)
	}
	p.says(".seen", "not now")
	p.until("it is told loudly", "document.querySelector('[aria-label=Alarms] [role=alert]').textContent.startsWith('No status')")
}

// A stop that does not get through is said, sent again, and arrives once it can.
func stopOutOfReach(b *browser, t *testing.T) {
	w := newWatchedSim(t, 20, 45, 1)
	p := b.visit(newSiteWith(t, Options{Watch: w.Watched}), "watch/terrace-riser")
	p.stands("Blind")
	_, fail, over := p.hold("*/api/watch/stop")
	fail()
	p.click("button", "Stop the mount")
	p.says(".orders", "has not reached Legroom yet")
	over()
	p.says(".now", "Your stop is held")
	p.until("the alarm about it is gone", "!document.querySelector('.orders').innerText.includes('has not reached')")
	p.expect("Failed to load resource")
	p.complaints()
}

// A browser has six connections to a server. Three pages with two streams each leave none, and a stop gets through all the same.
func threePages(b *browser, t *testing.T) {
	w := newWatchedSim(t, 20, 45, 1)
	s := newSiteWith(t, Options{Watch: w.Watched})
	var pages []*tab
	for range 3 {
		p := b.visit(s, "watch/terrace-riser")
		p.stands("Blind")
		pages = append(pages, p)
	}
	begun := time.Now()
	pages[1].click("button", "Stop the mount")
	soon(t, "the stop is held", func() bool { return w.Watch.Status().Held })
	t.Logf("from the press to the watch: %v", time.Since(begun).Round(time.Millisecond))
	for _, p := range pages {
		p.says(".now", "Your stop is held")
	}
}

// Every state, in every theme and width: nothing sticks out, axe-core finds nothing.
func watchLooks(b *browser, t *testing.T) {
	source := axe(t)
	w := newWatchedSim(t, 20, 45, 1)
	p := b.visit(newSiteWith(t, Options{Watch: w.Watched}), "watch/terrace-riser")
	p.stands("Blind")
	js[string](p, source+";''")
	look := func(state string) {
		t.Helper()
		p.stands(state)
		js[string](p, "scrollTo(0, 0), ''") // or the head of the page stands over something
		for theme, name := range themeNames {
			p.wear(theme)
			for _, v := range p.violations() {
				t.Errorf("%s, %s: %s", state, name, v)
			}
			if *pictures != "" {
				p.size(390, 844)
				p.keep(fmt.Sprintf("watch-%.5s-%s-390.png", state, theme))
				p.size(1440, 1000)
			}
		}
		for _, width := range []int64{360, 641, 1100, 2560, 1440} {
			p.size(width, 1000)
			if out := js[[]string](p, `[...document.querySelectorAll(".now dd > span:last-child, .now .state, .stop, main > *")]
				.filter((e) => e.getBoundingClientRect().right > Math.min(innerWidth, e.closest(".now")?.getBoundingClientRect().right ?? innerWidth) + 0.5)
				.map((e) => e.outerHTML.slice(0, 120))`); len(out) > 0 {
				t.Errorf("%s, %d pixels wide: these stick out: %q", state, width, out)
			}
		}
	}
	look("Blind")
	js[string](p, "document.querySelectorAll('main details').forEach((d) => (d.open = true)), ''")
	p.says("table", "The mount")
	for _, v := range p.violations() {
		t.Errorf("with everything unfolded: %s", v)
	}
	p.size(390, 844)
	p.click("button", "It stands so, side west")
	p.says(".task", "Confirmed")
	if !js[bool](p, "(() => { const s = document.querySelector('.stop').getBoundingClientRect(); return [0.02, 0.5, 0.98].every((x) => document.elementFromPoint(s.left + x * s.width, s.top + s.height / 2)?.closest('.stop')); })()") {
		t.Error("something stands over the stop on a phone")
	}
	p.size(1440, 1000)
	look("Stopped")
	if err := w.mount.SetTracking(true); err != nil {
		t.Fatal(err)
	}
	look("Room enough")
	if err := w.mount.SetFaults(sim.Faults{IgnoreStop: true}); err != nil {
		t.Fatal(err)
	}
	p.keys("0")
	p.stands("Stopping")
	look("The mount does not obey")
	if err := w.mount.SetFaults(sim.Faults{}); err != nil {
		t.Fatal(err)
	}
	soon(t, "it stopped", func() bool { return w.Watch.Status().Rung == watch.Stopped })
	w.end()
	look("No status")
}

// A night of the journal: listed, moved through by slider and keys, its figures those of the journal.
func playedBack(b *browser, t *testing.T) {
	p := b.visit(newSiteWith(t, Options{Journal: writeJournal(t)}), "watch/terrace-riser")
	p.click("fold", "Nights that were watched")
	p.until("the night is listed", "document.querySelector('.nights option:nth-child(2)')?.value === '2026-11-25'")
	js[string](p, "(() => { const s = document.querySelector('.nights select'); s.value = '2026-11-25'; s.dispatchEvent(new Event('change', { bubbles: true })); return ''; })()")
	p.says(".nights .now", "21:00:01 gap at least 99 mm")
	p.until("the rig of that night is drawn", "document.querySelector('.nights .turn')?.getAttribute('aria-label').includes('are nearest')")
	p.click("button", "21:30:00")
	p.says(".nights .now", "21:30:0")
	js[string](p, "document.querySelector('.nights input[type=range]').focus(), ''")
	p.keys(kb.ArrowRight)
	p.says(".nights .now", "21:30:01 gap at least 1 mm")
	p.says(".nights table", "stopping: gap")
}
