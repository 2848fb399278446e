package report

import (
	"bytes"
	"image"
	"image/color"
	"os"
	"slices"
	"strings"
	"testing"

	"legroom/rig"
	"legroom/room"
)

func TestCardIsOnePageAndTheSameBytes(t *testing.T) {
	c := madeUpChart(t, 2)
	for row, setup := range map[float64]rig.Setup{10: {Night: "2026-03-14", Confirmed: true}, 4: unconfirmed} {
		k := Card{Chart: c, Limits: Limits(c.Model.Rig, madeUpLimits(row), nil, setup, nil)}
		var a bytes.Buffer
		if err := WriteCard(&a, k); err != nil {
			t.Fatal(err)
		}
		for range 5 {
			var b bytes.Buffer
			if err := WriteCard(&b, k); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Fatal("the same card with the same date gave other bytes")
			}
		}
		if n := bytes.Count(a.Bytes(), []byte("/Type /Page\n")); n != 1 {
			t.Errorf("%d pages, want 1", n)
		}
		if d := os.Getenv("LOOK"); d != "" {
			os.WriteFile(d+"/card"+plain(row, 0)+".pdf", a.Bytes(), 0o644)
		}
	}
	if err := WriteCard(&bytes.Buffer{}, Card{Chart: c, Limits: Limits(c.Model.Rig, madeUpLimits(10), nil, rig.Setup{Reason: "no night"}, nil)}); err == nil ||
		!strings.Contains(err.Error(), `"" is not its date`) {
		t.Errorf("a card for no night gave %v", err)
	}
	k := Card{Chart: c, Limits: Limits(c.Model.Rig, madeUpLimits(2), nil, unconfirmed, nil)}
	if err := WriteCard(&bytes.Buffer{}, k); err == nil || err.Error() != "a card holds 36 bands of declination, not 70: make the bands higher" {
		t.Errorf("70 rows gave %v", err)
	}
}

// said is a sheet that keeps the words on it alone.
type said struct{ words []string }

func (s *said) stroke([]path, float64, color.NRGBA)     {}
func (s *said) fill([]path, color.NRGBA)                {}
func (s *said) picture(*image.NRGBA, box)               {}
func (s *said) text(_ point, words string, _ lettering) { s.words = append(s.words, words) }

// A side with another run carries the mark in its row, and the mark is explained; a card without one says nothing of it.
func TestCardMarksOtherRuns(t *testing.T) {
	c := madeUpChart(t, 2)
	k := Card{Chart: c, Limits: Limits(c.Model.Rig, madeUpLimits(10), nil, unconfirmed, nil)}
	sheet := func() (marks int, explained bool) {
		var s said
		k.draw(&s)
		for _, w := range s.words {
			explained = explained || strings.HasPrefix(w, "† more room on that side")
			if strings.HasSuffix(w, " †") {
				marks++
			}
		}
		return marks, explained
	}
	want := 0
	for i := range k.Limits.ByDeclination {
		for _, runs := range [][]Span{k.Limits.ByDeclination[i].WestOtherH, k.Limits.ByDeclination[i].EastOtherH} {
			if len(runs) > 0 {
				want++
			}
		}
	}
	if marks, explained := sheet(); marks != want || want == 0 || !explained {
		t.Errorf("%d marks for %d sides with other runs, explained: %v", marks, want, explained)
	}
	for i := range k.Limits.ByDeclination {
		k.Limits.ByDeclination[i].WestOtherH, k.Limits.ByDeclination[i].EastOtherH = nil, nil
	}
	if marks, explained := sheet(); marks != 0 || explained {
		t.Errorf("%d marks with no other runs, explained: %v", marks, explained)
	}
}

// What a row says of idle time is the difference of the minutes that it prints, which are rounded apart.
func TestIdleIsBetweenThePrintedMinutes(t *testing.T) {
	stop, resume := -18.2/60, -0.3/60 // 17.9 min apart
	r := RowDoc{StopH: &stop, StopReason: room.ByRoom, ResumeH: &resume, ResumeReason: room.ByRoom, IdleMin: 17.9}
	if got := []string{stopWords(&r), resumeWords(&r), flipShort(&r)}; !slices.Equal(got, []string{"−19 min", "0 min", "idle 19 min *"}) {
		t.Errorf("%q", got)
	}
}

// A row that names its flip has it begun then, and no words on the card send the reader across at side east's start, which is earlier.
func TestCardFlipsAtTheProvenTime(t *testing.T) {
	c := madeUpChart(t, 2)
	k := Card{Chart: c, Limits: Limits(c.Model.Rig, madeUpLimits(10), nil, unconfirmed, nil)}
	sheet := func() string {
		var s said
		k.draw(&s)
		return strings.Join(s.words, " ")
	}
	flips, starred := "begin the flip at the time after those words, not before", "Where it says idle with a star"
	if got := sheet(); !strings.Contains(got, "idle, flip at +10 min") || !strings.Contains(got, flips) || strings.Contains(got, starred) || strings.Contains(got, "start again") {
		t.Errorf("with a proven flip: %s", got)
	}
	for i := range k.Limits.ByDeclination { // both sides reach over, and the mount flips later by its own rules
		k.Limits.ByDeclination[i].IdleMin = 0
	}
	if got := sheet(); !strings.Contains(got, flips) {
		t.Errorf("with a proven flip and no idle time: %s", got)
	}
	k.Limits = Limits(c.Model.Rig, madeUpLimits(10), nil, unconfirmed, nil)
	for i := range k.Limits.ByDeclination {
		k.Limits.ByDeclination[i].CrossH = nil
	}
	if got := sheet(); strings.Contains(got, flips) || !strings.Contains(got, starred) || !strings.Contains(got, starNote[:20]) {
		t.Errorf("without one: %s", got)
	}
	for i := range k.Limits.ByDeclination {
		k.Limits.ByDeclination[i].IdleMin = 0
	}
	if got := sheet(); strings.Contains(got, flips) || strings.Contains(got, starred) {
		t.Errorf("without idle time: %s", got)
	}
}
