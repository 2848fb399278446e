package web

import (
	"fmt"
	"math"
	"os"
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
		{"a proof walk with the mount", walkWithMount}, {"the server was away", serverAway}, {"every place", watchEverywhere},
		{"the stop in sight", stopInSight},
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
	// The rig is drawn where the mount says that it is, and nothing there says that there is room.
	p.until("the rig is drawn", "document.querySelector('.watch .turn')?.getAttribute('aria-label').includes('Side west')")
	p.says(".watch .seen", "where the mount says that it is")
	p.click("fold", "The same as tables")
	p.says(".watch .tables", "No gap is known while the watch is blind.")
	if js[bool](p, "document.querySelector('.watch .near') !== null || /at least|are nearest/.test(document.querySelector('.watch .turn').getAttribute('aria-label') + document.querySelector('.watch .tables').innerText)") {
		t.Error("a blind watch shows a gap")
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
	p.says(".watch .near", "at least")
	p.says(".watch .tables", "kept")
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
	w := newWatchedSim(t, 20, 45, 1)
	p := b.visit(newSiteWith(t, Options{Watch: w.Watched}), "watch/terrace-riser")
	p.stands("Blind")
	p.withAxe()
	look := func(state string) {
		t.Helper()
		p.stands(state)
		js[string](p, "scrollTo(0, 0), ''") // or the head of the page stands over something
		for theme, name := range themeNames {
			p.wear(theme)
			for _, v := range p.violations(colours...) {
				t.Errorf("%s, %s: %s", state, name, v)
			}
			if *pictures != "" {
				p.size(390, 844)
				p.keep(fmt.Sprintf("watch-%.5s-%s-390.png", state, theme))
				p.size(1440, 1000)
			}
		}
		for _, v := range p.violations() {
			t.Errorf("%s: %s", state, v)
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
	p.says("[aria-label='What happened']", "stopping: the owner pressed stop") // it does not stand so for long
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

// A walk of the rig that is watched: each step says where the mount stands and how far off that is, and its angles are taken for a reading.
func walkWithMount(b *browser, t *testing.T) {
	var w Watched // it begins once the walk says where to drive to
	s := newSiteWith(t, Options{Watch: &w})
	text, err := os.ReadFile(pier)
	if err != nil {
		t.Fatal(err)
	}
	s.write("pier.yaml", string(text))
	m, err := mapOf(s.dir + "/pier.yaml")
	if err != nil {
		t.Fatal(err)
	}
	const begins = "2026-11-26T10:00"
	var walk Walk
	if p := s.worked("/api/proof/walk", map[string]any{"id": "pier", "begins": begins, "steps": 2}, &walk); p != nil {
		t.Fatal(p)
	}
	first, second := walk.Proof.Steps[0], walk.Proof.Steps[1]
	sim := watchSim(t, m, first.RAAxisDeg+0.5, first.DecAxisDeg-0.25, 1)
	if err := sim.mount.SetTracking(false); err != nil {
		t.Fatal(err)
	}
	w = *sim.Watched

	p := b.visit(s, "proof/pier")
	p.opened("proof")
	js[string](p, fmt.Sprintf("(() => { const e = document.querySelector('input[type=datetime-local]'); e.value = %q; e.dispatchEvent(new Event('input', { bubbles: true })); return ''; })()", begins))
	p.fill("textbox", "Steps, at most", "2")
	p.click("button", "Choose the poses")
	off := func(step int) [2]float64 {
		t.Helper()
		p.until("the step says where the mount stands", fmt.Sprintf("document.querySelectorAll('main ol > .step')[%d]?.querySelector('.mount')", step))
		return js[[2]float64](p, fmt.Sprintf("[...document.querySelectorAll('main ol > .step')[%d].querySelectorAll('.mount .figure')].map((e) => Number.parseFloat(e.innerText.replace('\u2212', '-')))", step))
	}
	near := func(a, b float64) bool { return math.Abs(a-b) < 0.06 } // it may have tracked for some seconds
	if got := off(0); !near(got[0], 0.5) || !near(got[1], -0.25) {
		t.Errorf("off by %v, not by 0.5° and −0.25°", got)
	}
	if second.Side == first.Side {
		if got := off(1); !near(got[0], first.RAAxisDeg+0.5-second.RAAxisDeg) || !near(got[1], first.DecAxisDeg-0.25-second.DecAxisDeg) {
			t.Errorf("off the second step by %v", got)
		}
	}
	p.until("the second is another pose", "document.querySelectorAll('main ol > .step')[1].querySelector('.mount button').disabled")
	p.says("main ol > .step:nth-child(2)", "drive there first")

	p.fill("textbox", "Step 1: Ruler, millimetres", fmt.Sprint(math.Round(first.GapMM)))
	p.says("main h2", "What the ruler says")
	predicted := func() string {
		p.until("it is fitted", "document.querySelector('[aria-label=\"Readings against the model\"] tbody') && !document.querySelector('main [aria-busy=true]')")
		return js[string](p, "document.querySelector('[aria-label=\"Readings against the model\"] tbody tr').cells[3].innerText")
	}
	before := predicted()
	p.looks("mount")
	p.click("button", "Take these angles, step 1")
	p.says("main ol > .step", "as the mount said")
	p.until("the fit goes by them", fmt.Sprintf("document.querySelector('[aria-label=\"Readings against the model\"] tbody tr').cells[3].innerText !== %q", before))
	sheet := walk.Sheet
	at := sim.Watch.Status().Sample
	sheet.Steps[0].RAAxisDeg, sheet.Steps[0].DecAxisDeg = first.RAAxisDeg+off(0)[0], *at.DecAxisDeg
	sheet.Steps[0].Readings = []string{fmt.Sprint(math.Round(first.GapMM))}
	var fit Fit
	s.post(200, "POST", "/api/proof/fit", map[string]any{"id": "pier", "sheet": sheet}, &fit)
	if got, want := predicted(), fmt.Sprintf("%.1f", fit.Fit.Readings[0].PredictedMM); len(got) < len(want) || math.Abs(number(t, got)-fit.Fit.Readings[0].PredictedMM) > 0.2 {
		t.Errorf("predicted there: the page has %s, the server %s", got, want)
	}
	p.click("button", "As the walk has it, step 1")
	p.until("the fit is as before", fmt.Sprintf("document.querySelector('[aria-label=\"Readings against the model\"] tbody tr').cells[3].innerText === %q", before))

	sim.end()
	p.says("main", "No status from the watch")
	p.until("its angles are gone", "document.querySelector('main .step .mount') === null")
}

// number reads the figure that words begin with.
func number(t *testing.T, words string) float64 {
	t.Helper()
	var x float64
	if _, err := fmt.Sscanf(words, "%f", &x); err != nil {
		t.Fatal(words, err)
	}
	return x
}
