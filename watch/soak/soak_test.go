package soak

import (
	"context"
	"encoding/json"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"legroom/rig"
	"legroom/watch"
)

// examples are the rigs of the examples' folder.
func examples(t testing.TB) []*rig.Rig {
	t.Helper()
	files, err := filepath.Glob("../../examples/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	var rigs []*rig.Rig
	for _, f := range files {
		r, err := rig.Load(f)
		if err != nil {
			t.Fatal(err)
		}
		rigs = append(rigs, r)
	}
	return rigs
}

func run(t testing.TB, o Options) *Report {
	t.Helper()
	r, err := Run(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A short soak: every demand is met, and there was something to demand. One false stop may come once in a hundred nights, and is told.
func TestSoak(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	r := run(t, Options{Rigs: examples(t), Nights: 8, Night: 2 * time.Hour, Seed: seed})
	for i, f := range r.Findings {
		tell := t.Errorf
		if f.Kind == "false stop" && i == 0 {
			tell = t.Logf
		}
		tell("night %d, %s, %s: %s: %s", f.Night, f.Rig, f.At.Format(time.RFC3339), f.Kind, f.Text)
	}
	if r.Nights != 8 || r.Stops == 0 || r.Blind == 0 {
		t.Errorf("%+v", r)
	}
	t.Logf("%d steps, %d stops, %d hooks, %d times blind, worst reaction %.2f s", r.Steps, r.Stops, r.Hooks, r.Blind, r.WorstReactionS)
}

// The same over real sockets, one night by each protocol. A computer that is too busy is late with answers, which may rightly stop a
// mount, but neither lets it touch nor loses a row.
func TestSockets(t *testing.T) {
	t.Parallel()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	r := run(t, Options{Rigs: examples(t)[:1], Nights: 2, Night: 3 * time.Minute, Seed: seed, Sockets: 15, Workers: 2})
	for _, f := range r.Findings {
		if f.Kind != "false stop" && f.Kind != "false hook" {
			t.Errorf("night %d, %s, %s: %s: %s", f.Night, f.Rig, f.At.Format(time.RFC3339), f.Kind, f.Text)
		}
	}
	if r.Nights != 2 || r.Contacts+r.LateHooks+r.JournalRowsLost != 0 || r.JournalRows < 60 {
		t.Errorf("%+v", r)
	}
	t.Logf("%d steps, %d rows, %d slews", r.Steps, r.JournalRows, r.Slews)
}

// In virtual time a seed is a night, whoever lives through it first.
func TestSameSeedSameNights(t *testing.T) {
	rigs := examples(t)[:2]
	text := func(workers int) string {
		r := run(t, Options{Rigs: rigs, Nights: 4, Night: 40 * time.Minute, Seed: 7, Workers: workers})
		data, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	if a, b := text(1), text(4); a != b {
		t.Errorf("%s\nand\n%s", a, b)
	}
}

// Each guard of the watch that is taken away is missed before long; TestSoak says that the whole watch is not.
func TestPlantedFaults(t *testing.T) {
	t.Parallel()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rigs := examples(t)[1:3]
	for _, c := range []struct {
		name  string
		fault watch.Fault
	}{
		{"the margin", watch.IgnoreMargin}, {"the age of data", watch.AcceptOld},
		{"the side", watch.BelieveSide}, {"tracking restored after an abort", watch.IgnoreRestored},
	} {
		ctx, cancel := context.WithCancel(t.Context())
		r, err := Run(ctx, Options{Rigs: rigs, Nights: 100, Night: 3 * time.Hour, Seed: seed, Plant: c.fault,
			Progress: func(_, _ int, r *Report) {
				if len(r.Findings) > 0 {
					cancel()
				}
			}})
		cancel()
		if len(r.Findings) == 0 {
			t.Errorf("%s ignored, and nothing found in %d nights: %v", c.name, r.Nights, err)
			continue
		}
		t.Logf("%s ignored: %s after %d nights: %s", c.name, r.Findings[0].Kind, r.Nights, r.Findings[0].Text)
	}
}

func TestBadOptions(t *testing.T) {
	rigs := examples(t)[:1]
	for _, o := range []Options{{Nights: 1}, {Rigs: rigs}, {Rigs: rigs, Nights: 1, Night: time.Second}, {Rigs: rigs, Nights: 2, Only: 3},
		{Rigs: rigs, Nights: 1, Sockets: 21}} {
		if _, err := Run(t.Context(), o); err == nil {
			t.Errorf("%+v", o)
		}
	}
}

// A soak that is broken off tells what there is, and nothing that it did not live through.
func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	o := Options{Rigs: examples(t)[:1], Nights: 1000, Night: 20 * time.Minute, Seed: 3, Workers: 1,
		Progress: func(done, _ int, _ *Report) {
			if done == 2 {
				cancel()
			}
		}}
	r, err := Run(ctx, o)
	if !errors.Is(err, context.Canceled) || r == nil || r.Nights < 2 || r.Nights > 4 {
		t.Errorf("%v, %+v", err, r)
	}
}
