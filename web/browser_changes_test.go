package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"legroom/report"
	"legroom/rig"
)

const terraceProof = "proof/terrace-long-refractor"

// The places Proof and Changes in a real browser, against the real server.
func TestBrowserChanges(t *testing.T) {
	if testing.Short() {
		t.Skip("the browser takes its time")
	}
	b := newBrowser(t)
	for _, c := range []struct {
		name string
		test func(*browser, *site)
	}{
		{"a proof walk", proofWalk},
		{"what would help", whatWouldHelp},
		{"what it weighs and stands", whatItStands},
		{"a mass that is missing", missingMass},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(b, newSite(t)) })
	}
}

// An owner takes a walk, measures a tube whose saddle mark is 4 mm off, and takes the corrected lengths over.
func proofWalk(b *browser, s *site) {
	before := s.file("terrace-long-refractor.yaml")
	p := b.visit(s, terraceProof)
	p.opened("proof")
	p.says("main", "No walk yet")
	p.fill("textbox", "Steps, at most", "6")
	p.click("button", "Choose the poses")
	p.until("the steps are there", "document.querySelectorAll('main ol > .step').length === 6")
	p.settled()
	n := js[int](p, "document.querySelectorAll('main ol > .step').length")
	gaps := js[[]float64](p, "[...document.querySelectorAll('main ol > .step dl .figure')].map((e) => Number.parseFloat(e.innerText))")
	for i := range n {
		p.fill("textbox", fmt.Sprintf("Step %d: Ruler, millimetres", i+1), fmt.Sprint(math.Round(gaps[i])+math.Copysign(1, float64(i%2)-0.5)))
	}
	p.says("main h2", "What the ruler says")
	p.until("every reading is fitted", fmt.Sprintf("document.body.innerText.includes(' of %d readings') && !document.querySelector('main [aria-busy=true]')", n))
	p.says(".verdict", "agrees with the ruler")

	p.goTo(terraceProof) // a reload
	p.opened("proof")
	p.until("the readings are still there", fmt.Sprintf("[...document.querySelectorAll('main ol > .step')].every((e) => e.querySelector('input').value !== '') && document.body.innerText.includes(' of %d readings')", n))
	p.click("button", "Show in 3D, step 4")
	p.says("main", "Step 4:")
	p.until("the line has what the sheet says, which is no proof of room", "document.querySelector('.labels .near')?.innerText === document.querySelectorAll('main ol > .step')[3].querySelector('dl .figure').innerText && document.querySelector('.labels .near').innerText.includes('±')")
	p.looks("proof")

	// A reading with less room than the model leaves its step open: the fit is shown, and nothing can be taken over until it is measured again.
	p.fill("textbox", "Step 2: Ruler, millimetres", fmt.Sprint(math.Round(gaps[1])-80))
	p.says(".verdict", "Step 2 is open: measure it again")
	p.says(".verdict", "From ")
	p.says("main h3", "Lengths by the other readings")
	p.says("main", "Not while step 2 is open")
	p.says("main td", "its step is open")
	p.says("main ol > .step.open", "Open: less room than the model gives")
	if n := js[int](p, "[...document.querySelectorAll('main button')].filter((e) => e.innerText.startsWith('Take the corrected') && !e.disabled).length"); n != 0 {
		s.t.Errorf("%d buttons take the lengths over while a step is open", n)
	}
	p.looks("proof-open")
	p.click("button", "To step 2")
	p.until("the field for the second reading has the caret", "document.activeElement.ariaLabel === 'Step 2: held anew, millimetres'")
	p.keys(fmt.Sprint(math.Round(gaps[1])))
	p.says(".verdict", "The reading of step 2 does not go with the others")

	p.click("button", "Take the corrected lengths into the draft")
	p.says("main", "The corrected lengths are in your draft, not saved yet")
	if s.file("terrace-long-refractor.yaml") != before {
		s.t.Error("the corrected lengths were written without being saved")
	}
	p.click("button", "Undo")
	p.says("main h2", "What the ruler says")
	p.until("the fit is back", "!document.querySelector('main [aria-busy=true]')")
	p.click("button", "Take the corrected lengths into the draft")
	p.click("button", "Save")
	soon(s.t, "the corrected lengths are saved", func() bool { return s.file("terrace-long-refractor.yaml") != before })
	if _, err := rig.Load(s.dir + "/terrace-long-refractor.yaml"); err != nil {
		s.t.Error(err)
	}
	p.says("main", "This walk is used up")
	if got := p.fingerprint(); !strings.Contains(got, "-") {
		s.t.Errorf("fingerprint %q", got)
	}
}

// An owner compares a riser, has the solver look for a bearing instead, and takes a variant over as the draft.
func whatWouldHelp(b *browser, s *site) {
	files, before := s.names(), s.file("terrace-long-refractor.yaml")
	s.write("terrace-long-refractor.targets.yaml", "- {name: high, ra_deg: 10, dec_deg: 37}\n")
	p := b.visit(s, "changes/terrace-long-refractor")
	p.opened("changes")
	p.says("main", "For your own targets of the place Tonight: high")
	p.fill("textbox", "Variant 1: height of the pier extension", "200")
	p.click("button", "Compare")
	p.until("the variants are compared", "document.querySelectorAll('main table thead th').length >= 3")
	p.until("what differs is marked", "document.querySelector('main td.other')?.innerText.includes('≠')")

	// The assumed extension has no mass: what it tips by is marked in its column alone.
	if got := js[[]string](p, "[...document.querySelectorAll('main td')].filter((e) => e.innerText.includes('▲')).map((e) => e.cellIndex + ' ' + e.parentElement.cells[0].innerText)"); strings.Join(got, "; ") != "2 Tips over by a push of; 2 Tips over in a wind of" {
		s.t.Errorf("marked: %q", got)
	}
	p.says("main", "riser 200: no mass in the document: pier extension")

	p.click("button", "Draw a chart over it")
	p.until("the chart is drawn", "document.querySelectorAll('main svg[role=img] path.line').length === 2")
	p.click("button", "Look for the best")
	p.until("the best is found", "/Proven: nothing within these bounds/.test(document.querySelector('main .verdict')?.innerText)")
	p.says(".verdict", "Turning or a riser?")
	p.settled()
	p.looks("changes")

	p.click("button", "Open as the draft: riser 200")
	p.says(".said", "it is not saved yet")
	if s.file("terrace-long-refractor.yaml") != before || strings.Count(s.names(), "\n") != strings.Count(files, "\n")+1 {
		s.t.Error("a file was written that nobody saved")
	}
	p.click("button", "New file: riser 200")
	soon(s.t, "the new file is there", func() bool { return strings.Contains(s.names(), "terrace-long-refractor-copy.yaml") })
	r, err := rig.Load(s.dir + "/terrace-long-refractor-copy.yaml")
	if err != nil || r.Support.Extension == nil || r.Support.Extension.HeightMM.Value != 200 {
		s.t.Errorf("%v, %v", r, err)
	}
}

// An owner asks what tips the rig, every part of which has its mass: the page has the figures of the API.
func whatItStands(b *browser, s *site) {
	p := b.visit(s, "changes/terrace-riser")
	p.opened("changes")
	p.says("main", "Not worked out yet")
	p.click("button", "Work the load out")
	p.click("button", "Stop working")
	p.says("main", "Not worked out yet")

	p.fill("textbox", "To stand: a push at its top", "80")
	p.click("button", "Work the load out")
	var want report.LoadDoc
	if p := s.worked("/api/load", map[string]any{"id": "terrace-riser", "stand_push_n": 80}, &want); p != nil { // the command's, by TestLoadIsTheCommands
		s.t.Fatal(p)
	}
	p.until("the load is there", "document.querySelector('[aria-label=\"Tipping in figures\"]')")
	p.says(".verdict", "It does not stand so")
	if len(want.MissingMass) > 0 {
		s.t.Fatalf("no figure to compare: %q have no mass", want.MissingMass)
	}
	figures := js[map[string]string](p, `Object.fromEntries([...document.querySelectorAll("[aria-label$='in figures'] tbody")].flatMap((b) => [...b.rows].slice(1).map((r) =>
		[b.rows[0].innerText + ": " + r.cells[0].innerText, [...r.cells].slice(1, 3).map((c) => c.innerText).join(" | ")])))`)
	down := func(x float64) string { return strconv.FormatFloat(math.Floor(x*10+1e-9)/10, 'f', -1, 64) }
	up := func(x float64) string { return strconv.FormatFloat(math.Ceil(x-1e-9), 'f', -1, 64) }
	t, c := want.Tipping, want.Cables[0]
	for figure, words := range map[string]string{
		"whole rig: push that tips it, " + strconv.FormatFloat(math.Round(t.Push.HeightMM), 'f', 0, 64) + "\u202fmm up": down(t.Push.Proven) + "\u202fN | " + down(t.Push.Found) + "\u202fN",
		"whole rig: wind that tips it":                    down(t.Wind.Proven) + "\u202fm/s | " + down(t.Wind.Found) + "\u202fm/s",
		"whole rig: centre of mass inside of the feet by": down(t.Distance.Proven) + "\u202fmm | " + down(t.Distance.Found) + "\u202fmm",
		"whole rig: or feet further out by":               up(t.Remedy.SpreadMM) + "\u202fmm | ",
		c.Name + ": must reach":                           up(c.ProvenMM) + "\u202fmm | " + up(c.ReachMM) + "\u202fmm",
	} {
		if figures[figure] != words {
			s.t.Errorf("%s: the page has %q, the API %q", figure, figures[figure], words)
		}
	}
	if n := js[int](p, "document.querySelectorAll('[aria-label=\"Hanging loops in figures\"] tbody tr').length"); n != len(c.Spans) {
		s.t.Errorf("%d rows of loops for %d spans", n, len(c.Spans))
	}
	if n := js[int](p, "document.querySelectorAll('main dl dt').length"); n != len(want.Methods) {
		s.t.Errorf("%d of %d methods are told", n, len(want.Methods))
	}
	p.looks("load")
	p.fill("textbox", "To stand: a push at its top", "60")
	p.says("main", "The figures are of what was asked before")
}

// A rig two parts of which have no mass: the page says that tipping and balance are not known, and shows no figure that hangs on them.
func missingMass(b *browser, s *site) {
	for file, mass := range map[string]string{"terrace/support.yaml": "  mass_kg: 7.5", "terrace/tube.yaml": ", turns: true, mass_kg: 0.6"} {
		without := strings.Replace(s.file(file), mass, strings.TrimSuffix(strings.Split(mass, "mass_kg")[0], ", "), 1)
		if without == s.file(file) {
			s.t.Fatalf("%q is not in %s", mass, file)
		}
		s.write(file, without)
	}
	var want report.LoadDoc
	if p := s.worked("/api/load", map[string]any{"id": "terrace-riser", "stand_push_n": 80}, &want); p != nil {
		s.t.Fatal(p)
	}
	if strings.Join(want.MissingMass, ", ") != "tripod, camera" || want.Tipping.Push != nil || want.Bending[0].FrequencyHz != nil {
		s.t.Fatalf("missing: %q; this tells nothing", want.MissingMass)
	}
	p := b.visit(s, "changes/terrace-riser")
	p.opened("changes")
	for _, push := range []string{"0", "80"} { // nothing asked is not known to stand either
		p.fill("textbox", "To stand: a push at its top", push)
		p.click("button", "Work the load out")
		p.until("the load is there", "document.querySelector('[aria-label=\"Bending in figures\"]') && !document.querySelector('main [aria-busy=true]') && !document.body.innerText.includes('of what was asked before')")
		p.says(".verdict", "▲ Whether it tips is not known")
		p.says(".verdict", "Tipping: Not known without the mass of tripod, camera.")
		p.says(".verdict", "Balance: Not known without the mass of camera.")
		if js[bool](p, "document.querySelector('.verdict').innerText.includes('✓') || !document.querySelector('.verdict').matches('.no')") {
			s.t.Errorf("push of %s N: said to be right", push)
		}
		for _, group := range []string{"Balance", "Tipping"} {
			if js[bool](p, fmt.Sprintf("!!document.querySelector('[aria-label=%q] table')", group)) {
				s.t.Errorf("push of %s N: figures of %s", push, group)
			}
		}
		known := js[[]string](p, `[...document.querySelectorAll("[aria-label='Bending in figures'] tr")].filter((r) => r.cells[0].innerText.match(/carries|frequency/)).map((r) => r.cells[1].innerText)`)
		if strings.Join(known, ", ") != "not known, not known" {
			s.t.Errorf("push of %s N: carries and first frequency are %q", push, known)
		}
	}
	p.says(".verdict", "Whether it stands what was asked is not known either")
}
