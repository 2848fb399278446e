package web

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// What an owner waits for in a real browser: go test ./web -run '^$' -bench Browser -benchtime 20x. Each reports the median.

// From an empty tab to the place Rig with its limits, its map and its picture, from a server that has answered nothing yet and a
// browser that has kept nothing. usable-ms is when the measures can be typed into, all-ms when the last of it stands there.
func BenchmarkBrowserOpens(b *testing.B) {
	browser := newBrowser(b)
	var usable, all []float64
	for b.Loop() {
		s := newSite(b)
		ctx, cancel := chromedp.NewContext(browser.ctx)
		t := &tab{site: s, ctx: ctx, close: cancel, open: map[network.RequestID]string{}}
		if err := chromedp.Do(ctx); err != nil { // opens the tab for as long as ctx lives
			b.Fatal(err)
		}
		call(t, network.SetCacheDisabled, network.SetCacheDisabledParams{CacheDisabled: true})
		t.do(chromedp.Navigate("http://" + s.host + "/#/" + terraceRig))
		// Times are the page's own, from when it was asked for; each is of the frame after.
		usable = append(usable, js[float64](t, seen(`document.querySelector("input[data-path='support.height_mm']")`)))
		all = append(all, js[float64](t, seen(`/Limits\s+west/.test(document.querySelector(".result")?.innerText) && document.querySelector(".chart:not(.stale) canvas") && document.querySelector(".gaps")`)))
		cancel()
	}
	b.ReportMetric(median(usable), "usable-ms")
	b.ReportMetric(median(all), "all-ms")
}

// seen is a promise of the time, since the page was asked for, at which an expression first holds and is painted.
func seen(expression string) string {
	return `new Promise((done) => {
		const look = () => (` + expression + `) ? requestAnimationFrame(() => setTimeout(() => done(performance.now()))) : requestAnimationFrame(look);
		look();
	})`
}

// From the move of a length's slider, pressed and drawn by the mouse, to the new proven map: the first frame of states that is of the
// rig as it is then, given to the browser (drawn-ms) and on the screen (map-ms). What lies between is the browser's own.
func BenchmarkBrowserDrags(b *testing.B) {
	s := newSite(b)
	t := newBrowser(b).visit(s, terraceRig)
	t.opened("rig")
	t.click("textbox", footName)
	js[string](t, `(() => {
		window.times = []; window.drawn = [];
		let from = 0, was = false;
		const chart = document.querySelector(".chart");
		new MutationObserver(() => {
			const stale = chart.classList.contains("stale");
			if (was && !stale && from) {
				const start = from;
				from = 0;
				drawn.push(performance.now() - start);
				requestAnimationFrame(() => setTimeout(() => times.push(performance.now() - start)));
			}
			was = stale;
		}).observe(chart, { attributeFilter: ["class"] });
		document.querySelector(".panel input[type=range]").addEventListener("input", (e) => (from = e.timeStamp), true);
		return "";
	})()`)
	x, y := t.middle("slider", "Legs: Foot radius, try other values")
	t.do(chromedp.MouseEvent("mousePressed", x, y, chromedp.ButtonLeft, func(e *mouse) { e.ClickCount = 1 }))
	t.settled()
	js[string](t, "times.length = drawn.length = 0, ''") // the press itself moved it a little
	n := 0
	for b.Loop() {
		n++
		// Never to where it has been: a map that is remembered would come at once.
		t.do(chromedp.MouseEvent("mouseMoved", x+float64(n)*2, y, chromedp.ButtonLeft))
		t.until("the map is there", fmt.Sprintf("times.length === %d", n))
	}
	t.do(chromedp.MouseEvent("mouseReleased", x+float64(n)*2, y, chromedp.ButtonLeft, func(e *mouse) { e.ClickCount = 1 }))
	b.ReportMetric(median(js[[]float64](t, "drawn")), "drawn-ms")
	b.ReportMetric(median(js[[]float64](t, "times")), "map-ms")
}

// Frames of the 3D picture a second while a night is played.
func BenchmarkBrowserFrames(b *testing.B) {
	s := newSite(b)
	t := newBrowser(b).visit(s, terraceRig)
	t.opened("rig")
	js[string](t, "document.querySelector('details.map').open = false, ''")
	load, _ := os.ReadFile("/proc/loadavg")
	b.Logf("renderer: %s; picture: %s; load: %s", js[string](t, `(() => {
		const gl = document.createElement("canvas").getContext("webgl2");
		return gl.getParameter(gl.getExtension("WEBGL_debug_renderer_info").UNMASKED_RENDERER_WEBGL);
	})()`), js[string](t, "(({ width, height }) => `${width} × ${height}`)(document.querySelector('.stage canvas'))"), strings.TrimSpace(string(load)))
	var rates []float64
	for b.Loop() {
		t.pose(At{"west", -6, 40})
		t.click("button", "Play a night")
		rates = append(rates, js[float64](t, `new Promise((done) => {
			let n = 0, start;
			requestAnimationFrame(function frame(now) {
				start ??= now;
				if (now - start > 2000) done((n * 1000) / (now - start));
				else { n++; requestAnimationFrame(frame); }
			});
		})`))
		t.click("button", "Hold")
	}
	b.ReportMetric(median(rates), "frames/s")
}

func median(x []float64) float64 {
	slices.Sort(x)
	return x[len(x)/2]
}
