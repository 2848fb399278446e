package web

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"maps"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/fetch"
	"github.com/chromedp/cdproto/inspector"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// patience is how long a test waits for the browser on a busy machine.
const patience = 60 * time.Second

// browser is a Chromium without a window. Its 3D is drawn by the processor, so that it needs no graphics card.
type browser struct {
	ctx context.Context
	cmd *exec.Cmd
}

// newBrowser starts a Chromium that ends with the test. Without one it skips the test, and fails it when LEGROOM_REQUIRE_TOOLS is 1.
func newBrowser(t testing.TB, options ...chromedp.ExecAllocatorOption) *browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("LEGROOM_REQUIRE_TOOLS") == "1" {
			t.Fatal("LEGROOM_REQUIRE_TOOLS is 1, and there is no chromium: ", err)
		}
		t.Skip("SKIPPED, the page is NOT tested in a browser: there is no chromium (package chromium): ", err)
	}
	b := &browser{}
	all := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("use-angle", "swiftshader"), chromedp.Flag("enable-unsafe-swiftshader", true), // 3D without a graphics card
		chromedp.Flag("disable-gpu-compositing", true), // and the rest of the page as a browser without one puts it together
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"),
		chromedp.WindowSize(1440, 1000), chromedp.WSURLReadTimeout(time.Minute),
		chromedp.ModifyCmdFunc(func(c *exec.Cmd) { b.cmd = c }))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), append(all, options...)...)
	ctx, cancel := chromedp.NewContext(alloc)
	t.Cleanup(func() { cancel(); stop() })
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	b.ctx = ctx
	return b
}

// tab is one tab that shows a site, and what went on in it.
type tab struct {
	*site
	ctx   context.Context
	close func()

	mu        sync.Mutex
	wrong     []string                     // errors and warnings of the browser
	elsewhere []string                     // requests to another host than the site's
	loader    cdp.LoaderID                 // of the page that is shown
	open      map[network.RequestID]string // its requests under way, by address
	sent      int                          // how many requests there were
	held      chan fetch.RequestID         // requests that are kept back
	dead      bool                         // it crashed
}

// visit opens the site in a new tab. When the test ends, the browser must have had nothing to complain about, and no request may have gone
// anywhere but to the site.
func (b *browser) visit(s *site, hash string, options ...chromedp.ContextOption) *tab {
	s.t.Helper()
	ctx, cancel := chromedp.NewContext(b.ctx, options...)
	t := &tab{site: s, ctx: ctx, close: cancel, open: map[network.RequestID]string{}, held: make(chan fetch.RequestID, 1000)}
	s.t.Cleanup(func() {
		cancel()
		for _, w := range t.complaints() {
			s.t.Errorf("the browser complains: %s", w)
		}
		for _, u := range t.elsewhere {
			s.t.Errorf("a request went elsewhere: %s", u)
		}
	})
	if err := chromedp.Listen(ctx, t.hear); err != nil {
		s.t.Fatal(err)
	}
	t.goTo(hash)
	return t
}

func (t *tab) hear(event any) {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		u := e.Request.URL
		if !strings.HasPrefix(u, "http://"+t.host+"/") && !strings.HasPrefix(u, "data:") && !strings.HasPrefix(u, "blob:") {
			t.elsewhere = append(t.elsewhere, u)
		}
		// A new page drops what the one before it asked for, and the browser does not always tell so.
		if e.Type == "Document" && string(e.LoaderID) == string(e.RequestID) {
			t.loader = e.LoaderID
			clear(t.open)
		}
		// An event stream stays open; and the browser asks for the page's mark itself, and does not always tell that it has it.
		if e.LoaderID == t.loader && e.Type != "EventSource" && u != "http://"+t.host+"/mark.svg" {
			t.open[e.RequestID] = u
			t.sent++
		}
	case *network.EventLoadingFinished:
		delete(t.open, e.RequestID)
	case *network.EventLoadingFailed:
		delete(t.open, e.RequestID)
	case *fetch.EventRequestPaused:
		t.held <- e.RequestID
	case *inspector.EventTargetCrashed:
		t.dead = true
	case *runtime.EventConsoleAPICalled:
		if e.Type == "error" || e.Type == "warning" || e.Type == "assert" {
			var said []string
			for _, a := range e.Args {
				said = append(said, string(a.Value)+a.Description)
			}
			t.wrong = append(t.wrong, fmt.Sprintf("console, %s: %s", e.Type, strings.Join(said, " ")))
		}
	case *runtime.EventExceptionThrown:
		t.wrong = append(t.wrong, "exception: "+e.ExceptionDetails.Text+" "+describeException(e.ExceptionDetails))
	case *log.EventEntryAdded:
		// Reading pixels of a picture drawn by the processor is slow, and Chromium says so.
		if l := e.Entry; (l.Level == "error" || l.Level == "warning") && !strings.Contains(l.Text, "GPU stall due to ReadPixels") {
			t.wrong = append(t.wrong, fmt.Sprintf("log, %s, %s: %s %s", l.Source, l.Level, l.Text, l.URL))
		}
	}
}

func describeException(e *runtime.ExceptionDetails) string {
	if e.Exception == nil {
		return ""
	}
	return e.Exception.Description
}

// complaints gives what the browser complained about since the last call.
func (t *tab) complaints() []string {
	t.mu.Lock()
	defer t.mu.Unlock()
	out := t.wrong
	t.wrong = nil
	return out
}

// expect waits until the browser complains about something that the test brought about, and takes that off the list.
func (t *tab) expect(words string) {
	t.t.Helper()
	soon(t.t, "the browser complains: "+words, func() bool {
		t.mu.Lock()
		defer t.mu.Unlock()
		before := len(t.wrong)
		t.wrong = slices.DeleteFunc(t.wrong, func(w string) bool { return strings.Contains(w, words) })
		return len(t.wrong) < before
	})
}

// gone waits until the tab has crashed.
func (t *tab) gone() {
	t.t.Helper()
	soon(t.t, "the tab is dead", func() bool { t.mu.Lock(); defer t.mu.Unlock(); return t.dead })
}

// do runs actions on the tab.
func (t *tab) do(actions ...chromedp.Action[chromedp.Void]) {
	t.t.Helper()
	ctx, cancel := context.WithTimeout(t.ctx, patience)
	defer cancel()
	if err := chromedp.Do(ctx, actions...); err != nil {
		t.t.Fatal(err)
	}
}

// call runs a command of the browser's protocol on the tab.
func call[P, R any](t *tab, c cdp.Command[P, R], params P) R {
	t.t.Helper()
	ctx, cancel := context.WithTimeout(t.ctx, patience)
	defer cancel()
	out, err := chromedp.Call(ctx, c, params)
	if err != nil {
		t.t.Fatalf("%s: %v", c.Method, err)
	}
	return out
}

// js evaluates an expression in the page; of a promise it gives what that comes to.
func js[T any](t *tab, expression string) T {
	t.t.Helper()
	ctx, cancel := context.WithTimeout(t.ctx, patience)
	defer cancel()
	out, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		t.t.Fatalf("%v, from %s", err, clipped(expression))
	}
	return out
}

// until waits until an expression holds in the page.
func (t *tab) until(what, expression string) {
	t.t.Helper()
	var err error
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(25 * time.Millisecond) {
		var ok bool
		if ok, err = t.holds(expression); err == nil && ok {
			return
		}
	}
	t.t.Fatalf("waited in vain until %s (%v); the page says:\n%s", what, err, js[string](t, "document.querySelector('main')?.innerText.slice(0, 3000) ?? document.URL"))
}

func (t *tab) holds(expression string) (bool, error) {
	ctx, cancel := context.WithTimeout(t.ctx, patience)
	defer cancel()
	return chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+expression+")"))
}

// says waits until the page, or a part of it, shows words.
func (t *tab) says(selector, words string) {
	t.t.Helper()
	t.until(selector+" says: "+words, fmt.Sprintf("[...document.querySelectorAll(%q)].some((e) => e.innerText.replace(/\\s+/g, ' ').includes(%q))", selector, words))
}

// settled waits until no request is under way, and what came by them is painted and has asked nothing more.
func (t *tab) settled() {
	t.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		before, open := t.requests()
		if open > 0 {
			continue
		}
		t.painted()
		if after, open := t.requests(); open == 0 && after == before {
			return
		}
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.t.Fatalf("the page does not come to rest: %d requests were sent, and under way are %q", t.sent, slices.Collect(maps.Values(t.open)))
}

// painted waits until what the page holds now is on the screen.
func (t *tab) painted() {
	t.t.Helper()
	js[int](t, "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))).then(() => 1)")
}

// requests counts those that the page has sent, and those of them that are under way.
func (t *tab) requests() (sent, open int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.sent, len(t.open)
}

// goTo loads the page anew at a place, such as sky/terrace-riser.
func (t *tab) goTo(hash string) {
	t.t.Helper()
	t.do(chromedp.Navigate("about:blank"), chromedp.Navigate("http://"+t.host+"/#/"+hash))
}

// size makes the page so many CSS pixels wide and high.
func (t *tab) size(width, height int64) {
	t.t.Helper()
	call(t, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: height, DeviceScaleFactor: 1})
}

// kinds of elements, as a person tells them apart.
var kinds = map[string]string{
	"button":   "button, [role=button]",
	"textbox":  "input[type=text], input[type=date], textarea",
	"slider":   "input[type=range]",
	"radio":    "input[type=radio]",
	"checkbox": "input[type=checkbox]",
	"fold":     "summary",
}

// middle waits for the one element of a kind and a name that is there and can be used, scrolls it into sight, waits until it rests there, and gives
// its middle in CSS pixels. A name that ends with … is the beginning of one.
func (t *tab) middle(kind, name string) (x, y float64) {
	t.t.Helper()
	start, open := strings.CutSuffix(name, "…")
	expression := fmt.Sprintf(`(async () => {
		const find = () => [...document.querySelectorAll(%q)].filter((e) => {
			const name = (e.getAttribute("aria-label") ?? e.labels?.[0]?.innerText ?? e.innerText).replace(/\s+/g, " ").trim();
			return (%v ? name.startsWith(%q) : name === %q) && !e.disabled && e.checkVisibility({ visibilityProperty: true });
		}).map((e) => e.type === "radio" ? e.labels[0] : e);
		const found = find();
		if (found.length !== 1) return { n: found.length };
		const e = found[0];
		const middle = () => {
			const r = e.getBoundingClientRect();
			return { x: (r.left + r.right) / 2, y: (r.top + r.bottom) / 2 };
		};
		e.scrollIntoView({ block: "center", inline: "nearest", behavior: "instant" });
		const before = middle();
		await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
		const { x, y } = middle();
		if (x !== before.x || y !== before.y) return { n: -2 };
		if (!e.contains(document.elementFromPoint(x, y))) return { n: -1 };
		window.aimed = { find, hit: false };
		return { n: 1, x, y };
	})()`, kinds[kind], open, start, start)
	var at struct {
		N    int
		X, Y float64
	}
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if at = js[struct {
			N    int
			X, Y float64
		}](t, expression); at.N == 1 {
			return at.X, at.Y
		}
	}
	t.t.Fatalf("%d elements are a %s named %q (−1: one, under another; −2: one that moves about); the page says:\n%s", at.N, kind, name,
		js[string](t, "document.querySelector('main').innerText.slice(0, 3000)"))
	return 0, 0
}

// click presses an element with the mouse, once more when it slipped away from under it.
func (t *tab) click(kind, name string) {
	t.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); {
		x, y := t.middle(kind, name)
		js[string](t, "addEventListener('pointerdown', (e) => (aimed.hit = aimed.find().some((f) => f.contains(e.target))), { capture: true, once: true }), ''")
		t.do(chromedp.MouseClickXY(x, y))
		if js[bool](t, "!window.aimed || aimed.hit") { // the page may be another by now
			return
		}
	}
	t.t.Fatalf("the %s named %q slips away from under the mouse", kind, name)
}

// keys types, letters and others: kb.Enter, kb.Tab.
func (t *tab) keys(keys string, options ...chromedp.KeyOption) {
	t.t.Helper()
	t.do(chromedp.KeyEvent(keys, options...))
}

// fill puts words into a field in place of what stands there.
func (t *tab) fill(kind, name, words string) {
	t.t.Helper()
	t.click(kind, name)
	t.keys("a", chromedp.KeyModifiers(chromedp.ModifierCtrl))
	t.keys(words)
}

// picture is what is seen of an element, which is brought into sight whole.
func (t *tab) picture(selector string) image.Image {
	t.t.Helper()
	t.until(selector+" is in sight", fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		e.scrollIntoView({ block: "center", inline: "nearest", behavior: "instant" });
		const r = e.getBoundingClientRect();
		let [top, bottom] = [0, innerHeight];
		for (let p = e.parentElement; p; p = p.parentElement) {
			if (getComputedStyle(p).overflowY === "visible") continue;
			const q = p.getBoundingClientRect();
			[top, bottom] = [Math.max(top, q.top), Math.min(bottom, q.bottom)];
		}
		return r.top >= top - 1 && r.bottom <= bottom + 1;
	})()`, selector))
	t.painted()
	data, err := chromedp.Run(t.ctx, chromedp.Screenshot(chromedp.CSS(selector)))
	if err != nil {
		t.t.Fatal(err)
	}
	m, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.t.Fatal(err)
	}
	return m
}
