package watch

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"legroom/mount"
)

// No gap and no time left is told while the watch is blind or does not come round: not in the status that page and broker get, not to hooks.
func TestNothingToldBlind(t *testing.T) {
	b := ready(t, deg(40, 45), nil)
	b.w.o.Blind = AlarmBlind
	told := func() string {
		s := b.w.Status()
		text, err := json.Marshal(&s)
		if err != nil {
			t.Fatal(err)
		}
		var got struct {
			LeftS  *float64 `json:"time_left_s"`
			NoEnd  bool     `json:"no_end"`
			Sample map[string]any
		}
		if err := json.Unmarshal(text, &got); err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, key := range []string{"gap_mm", "gap_lower_mm", "zone_mm", "time_left_s"} {
			if got.Sample[key] != nil {
				out = append(out, key)
			}
		}
		if got.LeftS != nil || got.NoEnd {
			out = append(out, "left")
		}
		if s.Proven() != nil {
			out = append(out, "proven")
		}
		return strings.Join(out, " ")
	}
	if got := told(); got != "gap_mm gap_lower_mm zone_mm time_left_s left proven" {
		t.Errorf("while it sees, the status tells %s", got)
	}
	b.clk.Advance(10 * time.Minute) // the loop hangs
	if got := told(); got != "" {
		t.Errorf("of ten minutes ago are told %s", got)
	}
	b.steps(3)
	b.silent = true
	b.steps(10)
	b.w.mu.Lock()
	c := b.w.call(b.clk.Now())
	b.w.mu.Unlock()
	if got := told(); got != "" || c.GapMM != nil || c.LeftS != nil {
		t.Errorf("blind, the status tells %s, and a hook %v", got, c)
	}
}

// A mount that stood when it was last seen is told to stop in case that it moves, and no hook is called for one that is switched off.
func TestStoodWhenLastSeen(t *testing.T) {
	for name, unseen := range map[string]func(b *bench){
		"no answer": func(b *bench) { b.broken = mount.ErrAnswer },
		"no place": func(b *bench) {
			b.change = func(r *mount.Reading) { r.Place.RA, r.Slewing, r.Tracking = math.NaN(), mount.Unsaid, mount.Unsaid }
		},
	} {
		t.Run(name, func(t *testing.T) {
			b := ready(t, deg(40, 45), nil)
			b.tracking = false
			if !b.until(time.Minute, func() bool { return b.w.Status().Sample.Motion == Still }) {
				t.Fatal("the mount does not come to stand")
			}
			unseen(b)
			b.steps(2)
			b.begin(deg(140, 45))
			if !b.until(20*time.Second, func() bool { return b.aborts > 0 }) {
				t.Error("nothing tells it to stop")
			}
			b.until(5*time.Minute, func() bool { return false })
			if b.aborts < 20 || b.hooks > 0 || b.w.Status().Rung != Watching {
				t.Errorf("%d aborts, %d hooks, %s", b.aborts, b.hooks, b.w.Status().Rung)
			}
		})
	}
}
