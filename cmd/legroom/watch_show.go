package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"legroom/report"
	"legroom/watch"
	"legroom/web"
)

// cautions stand at the beginning of every watch.
const cautions = `This supervises; it is not a safety function. Keep the mount's own limits and stops set, and a hand on the power switch for every
first run. It knows what was measured and what the mount says: a slipped clutch, a cable or a moved leg it cannot see.`

// announce says what is watched, and where it is reached.
func (p *patrol) announce(key *web.Key) error {
	out := p.c.OutOrStdout()
	if p.s.name == "json" {
		return report.WriteLine(out, report.WatchLine{Begun: &p.begun})
	}
	fmt.Fprintf(out, "%s\n\nwatching %s with rig %q\n", wrapped("", cautions, helpColumns), p.begun.Mount, p.m.Gauge().Model.Rig.Name)
	if p.begun.Guard != "" {
		fmt.Fprintf(out, "the guarded telescope for other programs: %s\n", p.begun.Guard)
	}
	if p.begun.Journal != "" {
		fmt.Fprintf(out, "the journal: %s\n", p.begun.Journal)
	}
	if p.begun.Page != "" {
		if err := announce(p.c, &p.s.format, web.Options{Listen: strings.TrimSuffix(strings.TrimPrefix(p.begun.Page, "http://"), "/"), Key: key}); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintf(out, "%s\n%s\n\n", wrapped("", "orders, each with Enter: "+orderHelp, helpColumns), wrapped("", confirmHelp, helpColumns))
	return err
}

// viewer writes the state and the events: JSON lines, lines of a log, or on a terminal a block that stays at the top.
type viewer struct {
	p    *patrol
	mu   sync.Mutex
	out  io.Writer
	json bool
	top  bool // a terminal that can hold the block

	at     time.Time // of the status shown last
	last   int64     // ID of the last event
	logged time.Time
	rung   watch.Rung
	blind  bool
	rang   time.Time
}

// blockLines is how many lines the block has at most, and logEvery how often a log gets one without a change.
const (
	blockLines = 14
	logEvery   = time.Minute
)

func newViewer(p *patrol) *viewer {
	v := &viewer{p: p, out: p.c.OutOrStdout(), json: p.s.name == "json"}
	if f, ok := v.out.(*os.File); ok && !v.json {
		info, err := f.Stat()
		term := os.Getenv("TERM")
		v.top = err == nil && info.Mode()&os.ModeCharDevice != 0 && (term != "" && term != "dumb" || os.Getenv("WT_SESSION") != "")
	}
	return v
}

// open makes room for the block: its lines stay, what is written below them scrolls. close takes that back.
func (v *viewer) open() {
	if v.top {
		v.write(fmt.Sprintf("\x1b[2J\x1b[%dr\x1b[%d;1H", blockLines+1, blockLines+1))
	}
}

func (v *viewer) close() {
	if v.top {
		v.write("\x1b[r\x1b[999;1H\n")
	}
}

// show writes until ctx ends. What it writes to may be slow, or gone: the loop does not wait for it.
func (v *viewer) show(ctx context.Context) {
	tick := time.NewTicker(100 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			v.events()
			if s := v.p.w.Status(); !s.At.IsZero() {
				v.status(&s)
			}
		}
	}
}

func (v *viewer) write(text string) {
	v.mu.Lock()
	defer v.mu.Unlock()
	_, _ = io.WriteString(v.out, text) // nobody may be reading any more, and the watch goes on
}

func (v *viewer) line(l report.WatchLine) {
	v.mu.Lock()
	defer v.mu.Unlock()
	_ = report.WriteLine(v.out, l)
}

// events writes those that have not been written.
func (v *viewer) events() {
	for _, e := range v.p.w.Events(v.last) {
		v.last = e.ID
		if v.json {
			v.line(report.WatchLine{Event: &e})
		} else {
			v.write(report.WatchEvent(e, v.p.site.Zone) + "\n")
		}
	}
}

func (v *viewer) status(s *watch.Status) {
	now := time.Now()
	view := report.WatchView{Status: s, MarginMM: v.p.m.Gauge().MarginMM, Zone: v.p.site.Zone, Now: now}
	fresh := !s.At.Equal(v.at)
	v.at = s.At
	switch {
	case v.json:
		if fresh {
			v.line(report.WatchLine{Status: s})
		}
	case v.top:
		if fresh || now.Sub(v.logged) >= time.Second { // the age of the reading grows even when the loop is stuck
			v.logged = now
			v.block(view)
		}
	case s.Rung != v.rung || (len(s.Blind) > 0) != v.blind || now.Sub(v.logged) >= logEvery:
		v.rung, v.blind, v.logged = s.Rung, len(s.Blind) > 0, now
		v.write(view.Line() + "\n")
	}
}

// block writes the lines at the top, in their places, and rings while an alarm is not acknowledged.
func (v *viewer) block(view report.WatchView) {
	lines := view.Lines()
	if n := len(lines) - (blockLines - 1); n > 0 {
		lines = append(lines[:blockLines-2], fmt.Sprintf("  and %d more lines: legroom watch --listen shows them on the page", n+1))
	}
	var b strings.Builder
	b.WriteString("\x1b7\x1b[?7l") // keep the cursor, and cut what is too long
	for i := range blockLines {
		fmt.Fprintf(&b, "\x1b[%d;1H\x1b[K", i+1)
		switch {
		case i == blockLines-1:
			b.WriteString(strings.Repeat("─", 80))
		case i >= len(lines):
		case i == 0 || strings.Contains(lines[i], "ALARM"):
			b.WriteString("\x1b[1;7m " + lines[i] + " \x1b[0m")
		case i <= 2:
			b.WriteString("\x1b[1m" + lines[i] + "\x1b[0m")
		default:
			b.WriteString(lines[i])
		}
	}
	b.WriteString("\x1b[?7h\x1b8")
	for _, a := range view.Status.Alarms {
		if a.Level == watch.Alarm && !a.Known && view.Now.Sub(v.rang) >= 5*time.Second {
			v.rang = view.Now
			b.WriteByte('\a')
		}
	}
	v.write(b.String())
}
