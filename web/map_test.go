package web

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"legroom/axes"
	"legroom/report"
	"legroom/rig"
	"legroom/room"
)

// The fields of a map say what the gauge says of random poses in them: free is free, blocked is not, whatever the hemisphere, the
// travel of the axes, and where the polar axis points. What a coarse frame has proven stands in every finer one.
func TestMapIsTrue(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	for _, c := range []struct {
		name  string
		edit  string // of the text
		exact bool
	}{
		{"terrace-long-refractor", "", true},
		{"karoo-newtonian", "", true}, // in the south
		{"balcony-strain-wave", "", true},
		{"terrace-long-refractor", `{"op": "set", "path": "mount.travel", "value": "{ra_from_deg: -100, ra_to_deg: 95, dec_from_deg: -170, dec_to_deg: 130}"}`, true},
		{"terrace-long-refractor", `{"op": "set", "path": "mount.polar_axis.azimuth_error_deg", "value": "6 ± 0.5"}`, false},
	} {
		if testing.Short() && c.name == "balcony-strain-wave" {
			continue // under the race detector
		}
		var edited Edited
		s.post(200, "POST", "/api/edit", json.RawMessage(fmt.Sprintf(`{"id": %q, "changes": [%s]}`, c.name, c.edit)), &edited)
		if len(edited.Doc.Errors) > 0 {
			t.Fatalf("%s: %v", c.edit, edited.Doc.Errors)
		}
		r, err := rig.Parse([]byte(edited.Text), filepath.Join(s.dir, c.name+".yaml"))
		if err != nil {
			t.Fatal(err)
		}
		m, err := axes.NewModel(r, nil)
		if err != nil {
			t.Fatal(err)
		}
		g, err := room.NewGauge(m, room.Options{})
		if err != nil {
			t.Fatal(err)
		}
		ask, _ := json.Marshal(map[string]any{"id": c.name, "text": edited.Text, "page": "p", "cell_deg": []float64{2, 1}})
		got := s.mapOf(string(ask))
		kinds := ""
		for _, f := range got {
			kinds += f.Kind + " "
			if f.Fingerprint != r.Fingerprint() || f.MarginMM != 30 {
				t.Errorf("%s: %s of %s, margin %v", c.name, f.Kind, f.Fingerprint, f.MarginMM)
			}
		}
		if kinds != "states gaps states gaps gaps end " {
			t.Errorf("%s: frames %s", c.name, kinds)
		}
		const seed = 11
		rnd := rand.New(rand.NewPCG(seed, 0))
		scratch := g.NewScratch()
		seen := [4]int{}
		for range 20_000 {
			p := axes.Pose{Side: axes.Side(rnd.IntN(2)), HourAngle: (2*rnd.Float64() - 1) * math.Pi, Dec: (rnd.Float64() - 0.5) * math.Pi}
			ax, unreachable := m.Reach(m.Head.Angles(p))
			free := g.Free(ax, scratch)
			coarse := byte(0)
			for n, f := range got {
				if f.Kind != "states" {
					continue
				}
				if f.Exact != c.exact {
					t.Fatalf("%s: exact is %v", c.name, f.Exact)
				}
				x, y := int((p.HourAngle/math.Pi+1)/2*float64(f.Columns)), int((p.Dec/math.Pi+0.5)*float64(f.Rows))
				state := f.planes[p.Side][y*f.Columns+x]
				seen[state]++
				where := fmt.Sprintf("%s %s, seed %d, frame %d: side %s, %v h, %v°", c.name, c.edit, seed, n, p.Side, axes.Hours(p.HourAngle), axes.Deg(p.Dec))
				if unreachable != nil && state != outsideTravel && c.exact {
					t.Fatalf("%s: state %d outside the travel", where, state)
				}
				if c.exact && (state == byte(room.Free) && !free || state == byte(room.Blocked) && free) {
					t.Fatalf("%s: state %d, but free is %v", where, state, free)
				}
				if c.exact && coarse == byte(room.Free) && state != coarse && state != outsideTravel {
					t.Fatalf("%s: was free in the coarse frame, is %d now", where, state)
				}
				coarse = state
			}
		}
		if seen[0] == 0 || seen[1] == 0 || seen[2] == 0 || strings.Contains(c.edit, "travel") != (seen[outsideTravel] > 0) && c.name == "terrace-long-refractor" {
			t.Errorf("%s %s: states seen %v", c.name, c.edit, seen)
		}
		gapsAreTrue(t, g, got[len(got)-2])
		end := got[len(got)-1]
		if end.Room == nil || !end.Last || end.Problem != "" {
			t.Errorf("%s: end %+v", c.name, end.FrameHead)
		}
	}
}

// gapsAreTrue compares the samples with the gauge's gaps of the same poses.
func gapsAreTrue(t *testing.T, g *room.Gauge, f gotFrame) {
	t.Helper()
	scratch := g.NewScratch()
	of := map[[2]string]room.PairGap{}
	for _, k := range []int{3, f.Columns * f.Rows / 2, f.Columns*f.Rows - 40, f.Columns*f.Rows/3 + 7} {
		for side := range 2 {
			p := axes.Pose{Side: axes.Side(side), HourAngle: (float64(k%f.Columns)+0.5)/float64(f.Columns)*2*math.Pi - math.Pi, Dec: (float64(k/f.Columns)+0.5)/float64(f.Rows)*math.Pi - math.Pi/2}
			gap := int16(binary.LittleEndian.Uint16(f.planes[2*side][2*k:]))
			pair := binary.LittleEndian.Uint16(f.planes[2*side+1][2*k:])
			ax, err := g.Model.Reach(g.Model.Head.Angles(p))
			if (err != nil) != (gap == math.MinInt16) {
				t.Errorf("gap %d, %v", gap, err)
			}
			if err != nil {
				continue
			}
			if lower := g.Gap(ax, scratch).Lower; float64(gap) < math.Floor(lower)-1 {
				t.Errorf("side %s: the gap across is %d mm, less than that of every pair, %v mm", p.Side, gap, lower)
			}
			clear(of)
			for _, q := range g.Nearest(ax, g.Pairs()) {
				of[[2]string{g.Model.Parts[q.A].Name, g.Model.Parts[q.B].Name}] = q
			}
			q, known := of[f.Pairs[pair]]
			if d := q.Lower - q.Allowance - float64(gap); !known || d < -0.01 || d > 1.01 {
				t.Errorf("side %s: %v has %v mm, not %d", p.Side, f.Pairs[pair], q.Lower-q.Allowance, gap)
			}
		}
	}
}

// The room at the end is that of the limits, and a map that was finished comes at once: no coarse frames again.
func TestMapAgain(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	const ask = `{"id": "karoo-newtonian", "page": "p"}`
	first, again := s.mapOf(ask), s.mapOf(ask)
	if len(first) != 6 || len(again) != 3 || again[0].Columns != first[2].Columns || !again[0].Last || string(again[0].planes[1]) != string(first[2].planes[1]) || string(again[1].planes[0]) != string(first[4].planes[0]) {
		t.Errorf("%d frames, then %d", len(first), len(again))
	}
	var limits report.LimitsDoc
	s.post(200, "POST", "/api/limits", map[string]string{"id": "karoo-newtonian"}, &limits)
	if r := first[5].Room; r == nil || *r != limits.RoomPercent {
		t.Errorf("room %v, limits say %v", r, limits.RoomPercent)
	}
	// Another margin, another map.
	if other := s.mapOf(`{"id": "karoo-newtonian", "page": "p", "margin_mm": 60}`); len(other) != 6 || other[0].Fingerprint == first[0].Fingerprint || other[5].Room.East >= first[5].Room.East {
		t.Errorf("with another margin: %d frames, %v", len(other), other[len(other)-1].FrameHead)
	}
}

// A newer map of the same page ends the older, of another page it does not; and what is left of neither.
func TestMapSuperseded(t *testing.T) {
	s := newSite(t)
	long := func(page string) string {
		return fmt.Sprintf(`{"id": "terrace-long-refractor", "page": %q, "cell_deg": [2, 0.1], "margin_mm": %d}`, page, 30+len(page))
	}
	ask := func(page string) (first, end chan gotFrame) {
		first, end = make(chan gotFrame, 1), make(chan gotFrame, 1)
		go func() {
			defer close(end)
			a := s.ask("POST", "/api/map", long(page))
			defer a.Body.Close()
			n := 0
			err := frames(a.Body, func(f gotFrame) error {
				if n++; n == 1 {
					first <- f
				}
				if f.Kind == "end" {
					end <- f
				}
				return nil
			})
			if !errors.Is(err, io.EOF) {
				t.Error(err)
			}
		}()
		return first, end
	}
	firstA, endA := ask("a")
	firstB, endB := ask("bb")
	<-firstA
	<-firstB
	newer := s.mapOf(`{"id": "terrace-long-refractor", "page": "a", "cell_deg": [2], "margin_mm": 44}`)
	old := <-endA
	if old.Problem != errSuperseded.Error() || old.Room != nil || newer[len(newer)-1].Problem != "" {
		t.Errorf("the older map ended with %+v, the newer with %+v", old.FrameHead, newer[len(newer)-1].FrameHead)
	}
	if other := <-endB; other.Problem != "" || other.Room == nil {
		t.Errorf("another page's map ended with %+v", other.FrameHead)
	}
}

// Two pages that ask for the same and for different things at once each get their own.
func TestTwoPages(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	var wg sync.WaitGroup
	var rooms [6]report.ShareDoc
	for i := range rooms {
		wg.Go(func() {
			name := []string{"karoo-newtonian", "terrace-riser"}[i%2]
			got := s.mapOf(fmt.Sprintf(`{"id": %q, "page": "page %d", "cell_deg": [2, 0.5]}`, name, i))
			if end := got[len(got)-1]; end.Room != nil {
				rooms[i] = *end.Room
			}
		})
	}
	wg.Wait()
	if rooms[0] == (report.ShareDoc{}) || rooms[0] == rooms[1] || rooms[0] != rooms[2] || rooms[0] != rooms[4] || rooms[1] != rooms[3] || rooms[1] != rooms[5] {
		t.Errorf("rooms %v", rooms)
	}
}
