package web

import (
	"fmt"
	"image"
	"math"
	"path/filepath"
	"strings"

	"github.com/chromedp/chromedp/kb"

	"legroom/axes"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
)

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
			verdict := js[string](p, "document.querySelector('.gaps .free').innerText")
			if free := strings.HasPrefix(verdict, "Free"); free != want.Free || strings.HasPrefix(verdict, "▲ Not free") == free {
				s.t.Errorf("%s at %v: the page says %q, free is %v", c.rig, at, verdict, want.Free)
			}
			// What is proven leads; what the lengths as they stand would give proves nothing, and stands below.
			p.says(".labels .near", proven(want.Nearest[0].GapLowerMM)+" gap "+measured(want.Nearest[0].GapMM))
			if want.OutOfTravel != nil {
				p.says(".gaps .free", "The axes do not reach this pose.")
			} else {
				p.says(".gaps .free", want.Decides.A+" – "+want.Decides.B+": "+proven(want.GapLowerMM))
				p.says(".gaps p", "By the lengths as they stand: "+measured(want.Decides.GapMM)+".")
			}
			if words := measured(want.Decides.GapMM); !strings.HasSuffix(proven(want.GapLowerMM), " "+words) && strings.Contains(js[string](p, "document.querySelector('.gaps .free').innerText"), words) {
				s.t.Errorf("%s at %v: the headline says what the lengths would give, %s", c.rig, at, words)
			}
		}
	}
}

// measured and proven write a gap by the lengths as they stand, and its lower bound, as the page does.
func measured(mm float64) string {
	if mm < 0 {
		return fmt.Sprintf("overlap %s mm", figure(-mm, 0))
	}
	return fmt.Sprintf("%s mm", figure(math.Floor(mm), 0))
}

func proven(mm float64) string {
	if mm < 0 {
		return fmt.Sprintf("may overlap by %s mm", figure(math.Ceil(-mm), 0))
	}
	return fmt.Sprintf("at least %s mm", figure(math.Floor(mm), 0))
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
	// The page waits a little before it asks: the pose might go on.
	soon(s.t, "what the track sweeps is on 1 % of the picture", func() bool { return different(last, p.scene()) >= 0.01 })
}
