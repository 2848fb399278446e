package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// ask is what every question about gaps takes.
type ask struct {
	tolerance string
	margin    float64
	holds     []string
	holdsNot  []string
	format    string
	formats   []string
}

// flags adds the common flags to a command; formats lists the output formats that it knows, the default first.
func (a *ask) flags(c *cobra.Command, formats ...string) {
	f := c.Flags()
	f.StringVar(&a.tolerance, "tolerance", "rss", "what the tolerances take off each gap: rss, worst or none")
	f.Float64Var(&a.margin, "margin", 0, "the gap to insist on, mm (the document's when not given)")
	f.StringArrayVar(&a.holds, "with", nil, "a condition that holds, such as \"roof shut\" (may be repeated)")
	f.StringArrayVar(&a.holdsNot, "without", nil, "a condition that does not hold; one that is not named counts at its worst")
	a.formatFlag(c, formats...)
}

func (a *ask) formatFlag(c *cobra.Command, formats ...string) {
	a.formats = formats
	if len(formats) > 0 {
		c.Flags().StringVar(&a.format, "format", formats[0], "output: "+strings.Join(formats, ", "))
	}
}

// gauge loads a rig and prepares it for questions.
func (a *ask) gauge(path string) (*room.Gauge, error) {
	r, err := rig.Load(path)
	if err != nil {
		return nil, err
	}
	return a.gaugeOf(r)
}

func (a *ask) gaugeOf(r *rig.Rig) (*room.Gauge, error) {
	if len(a.formats) > 0 && !slices.Contains(a.formats, a.format) {
		return nil, fmt.Errorf("--format %q: give %s", a.format, strings.Join(a.formats, ", "))
	}
	if a.margin < 0 {
		return nil, fmt.Errorf("--margin %g: give a length in mm above 0", a.margin)
	}
	known := rig.Conditions{}
	for state, names := range map[rig.State][]string{rig.Holds: a.holds, rig.HoldsNot: a.holdsNot} {
		for _, n := range names {
			if !slices.Contains(r.ConditionNames(), n) {
				return nil, fmt.Errorf("condition %q is not in %s: it has %s", n, r.Path, quoted(r.ConditionNames()))
			}
			if s, twice := known[n]; twice && s != state {
				return nil, fmt.Errorf("condition %q is given both --with and --without", n)
			}
			known[n] = state
		}
	}
	m, err := axes.NewModel(r, known)
	if err != nil {
		return nil, err
	}
	return room.NewGauge(m, room.Options{Mode: rig.ToleranceMode(a.tolerance), MarginMM: a.margin})
}

func quoted(names []string) string {
	q := make([]string, len(names))
	for i, n := range names {
		q[i] = fmt.Sprintf("%q", n)
	}
	return strings.Join(q, ", ")
}

// newMapFor proves the torus with a bar of progress on standard error when it takes long.
func newMapFor(ctx context.Context, g *room.Gauge, cellDeg float64) (*room.Map, error) {
	p := newProgress("proving the map")
	defer p.end()
	return room.NewMap(ctx, g, room.MapOptions{CellDeg: cellDeg, Progress: p.show})
}

// progress writes to standard error, only when that is a terminal and the work takes more than half a second.
type progress struct {
	what  string
	start time.Time
	last  time.Time
	shown bool
	on    bool
}

func newProgress(what string) *progress {
	info, err := os.Stderr.Stat()
	return &progress{what: what, start: time.Now(), on: err == nil && info.Mode()&os.ModeCharDevice != 0}
}

func (p *progress) show(done float64) {
	now := time.Now()
	if !p.on || now.Sub(p.start) < 500*time.Millisecond || now.Sub(p.last) < 100*time.Millisecond {
		return
	}
	p.last, p.shown = now, true
	fmt.Fprintf(os.Stderr, "\r%s: %3.0f%%", p.what, done*100)
}

func (p *progress) end() {
	if p.shown {
		fmt.Fprintf(os.Stderr, "\r%*s\r", len(p.what)+6, "")
	}
}

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// writeFile writes a result whole or not at all.
func writeFile(path string, data []byte) error {
	tmp, err := os.CreateTemp(filepath.Dir(path), ".legroom-*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name())
	if _, err := tmp.Write(data); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Chmod(0o644); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Close(); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), path)
}
