package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"legroom/axes"
	"legroom/rig"
)

func TestChartsSayWhatTheyShow(t *testing.T) {
	c := madeUpChart(t, 3)
	for _, v := range []View{Hours, Dome} {
		var b bytes.Buffer
		if err := c.WriteSVG(&b, v); err != nil {
			t.Fatal(err)
		}
		texts := svgTexts(t, b.Bytes())
		if v == Dome && !strings.Contains(texts, "east is LEFT") {
			t.Error("the dome does not say that east is left")
		}
		for _, want := range []string{"Long refractor on a terrace", "fingerprint 7f3a-90c1-5e", "planned, not confirmed", "1 length UNMEASURED", "not free",
			"edge: undecided, counts as not free", "gap = margin 30 mm", "west 97°", "east 93°", "below the horizon"} {
			if !strings.Contains(texts, want) {
				t.Errorf("%s: no %q in %q", v, want, texts)
			}
		}
	}
}

// A picture that was made in a confirmed night names it, for it lies about for longer.
func TestConfirmedChartNamesItsNight(t *testing.T) {
	c := madeUpChart(t, 10)
	c.Setup = rig.Setup{Night: "2026-03-14", Confirmed: true}
	var b bytes.Buffer
	if err := c.WriteSVG(&b, Dome); err != nil {
		t.Fatal(err)
	}
	texts := svgTexts(t, b.Bytes())
	if !strings.Contains(texts, "set-up confirmed for the night of 2026-03-14/15; ") || strings.Contains(texts, "planned, not confirmed") {
		t.Errorf("the set-up is not named in %q", texts)
	}
}

func svgTexts(t *testing.T, data []byte) string {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(data))
	var b strings.Builder
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return b.String()
		}
		if err != nil {
			t.Fatal(err)
		}
		if x, ok := tok.(xml.CharData); ok {
			b.Write(x)
			b.WriteByte('\n')
		}
	}
}

func TestPNGHasTheResolutionAskedFor(t *testing.T) {
	c := madeUpChart(t, 5)
	var b bytes.Buffer
	if err := c.WritePNG(&b, Dome, 72); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	if w := img.Bounds().Dx(); w != 822 { // 290 mm at 72 dots per inch
		t.Errorf("%d pixels wide, want 822", w)
	}
	for _, dpi := range []float64{0, 1e9, math.NaN()} {
		if err := c.WritePNG(&b, Dome, dpi); err == nil {
			t.Errorf("%v dots per inch are accepted", dpi)
		}
	}
}

// TestDomeIsSeenFromBelow: north up, east left, the zenith in the centre, and place is the inverse of sky.
func TestDomeIsSeenFromBelow(t *testing.T) {
	for _, c := range []struct {
		u    r3.Vec
		want point
	}{{r3.Vec{Z: 1}, point{0, 0}}, {r3.Vec{Y: 1}, point{0, -1}}, {r3.Vec{X: 1}, point{-1, 0}}, {r3.Vec{Y: -1}, point{0, 1}}, {r3.Vec{X: -1}, point{1, 0}}} {
		if got := place(c.u); math.Hypot(got.x-c.want.x, got.y-c.want.y) > 1e-12 {
			t.Errorf("%v is drawn at %v, want %v", c.u, got, c.want)
		}
	}
	d := dome{chart: madeUpChart(t, 10)}
	for _, q := range []point{{0.3, -0.2}, {-0.9, 0.1}, {0, 0.5}, {0, 0}} {
		h, dec, ok := d.sky(q)
		back := place(axes.Direction(d.chart.Model.Head.Latitude, h, dec))
		if !ok || math.Hypot(back.x-q.x, back.y-q.y) > 1e-9 {
			t.Errorf("%v came back as %v", q, back)
		}
	}
	if _, _, ok := d.sky(point{0.8, 0.8}); ok {
		t.Error("a place outside the circle has a direction")
	}
}

// TestScaleReadsInBlackAndWhite: the scale's luminance (ITU-R BT.709 weights of the sRGB values) rises all the way.
func TestScaleReadsInBlackAndWhite(t *testing.T) {
	last := -1.0
	for k := range 101 {
		c := cividis(float64(k) / 100)
		y := 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
		if y <= last {
			t.Fatalf("luminance %v at %d%%, %v before", y, k, last)
		}
		last = y
	}
	// The ends of the published table [mem].
	for at, want := range map[float64][3]int{0: {0, 34, 78}, 1: {254, 232, 56}} {
		c := cividis(at)
		for k, v := range []uint8{c.R, c.G, c.B} {
			if d := int(v) - want[k]; d < -14 || d > 14 {
				t.Errorf("cividis(%v) = %v, want near %v", at, c, want)
			}
		}
	}
}

func TestContourAndDashes(t *testing.T) {
	b := box{10, 20, 40, 40}
	lines := contour(b, 80, 80, func(p point) float64 { return math.Hypot(p.x-30, p.y-40) - 12 })
	if len(lines) != 1 {
		t.Fatalf("a circle became %d lines", len(lines))
	}
	for _, p := range lines[0] {
		if d := math.Hypot(p.x-30, p.y-40); math.Abs(d-12) > 0.02 {
			t.Errorf("a point of the contour is %v from the centre, want 12", d)
		}
	}
	sum := 0.0
	for _, d := range dashed(path{{0, 0}, {10, 0}, {10, 5}}, 2, 1) {
		for i := 1; i < len(d); i++ {
			sum += math.Hypot(d[i].x-d[i-1].x, d[i].y-d[i-1].y)
		}
	}
	if math.Abs(sum-10) > 1e-9 {
		t.Errorf("15 mm dashed 2 on, 1 off are %v mm of line, want 10", sum)
	}
	for _, l := range hatch(b, 2, false, func(p point) bool { return p.x < 30 }) {
		for _, p := range l {
			if p.x >= 30 || p.x < 10-1e-9 || p.y < 20-1e-9 || p.y > 60+1e-9 {
				t.Fatalf("hatch outside what is hatched, at %v", p)
			}
		}
	}
}
