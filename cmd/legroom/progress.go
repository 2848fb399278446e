package main

import (
	"fmt"
	"io"
	"os"
	"time"
)

// progress writes to standard error, only when that is a terminal and the work takes more than half a second.
type progress struct {
	out   io.Writer
	what  string
	start time.Time
	last  time.Time
	shown bool
	on    bool
}

func newProgress(out io.Writer, what string) *progress {
	p := &progress{out: out, what: what, start: time.Now()}
	if f, ok := out.(*os.File); ok {
		info, err := f.Stat()
		p.on = err == nil && info.Mode()&os.ModeCharDevice != 0
	}
	return p
}

func (p *progress) show(done float64) {
	now := time.Now()
	if !p.on || now.Sub(p.start) < 500*time.Millisecond || now.Sub(p.last) < 100*time.Millisecond {
		return
	}
	p.last, p.shown = now, true
	fmt.Fprintf(p.out, "\r%s: %3.0f%%", p.what, done*100)
}

func (p *progress) end() {
	if p.shown {
		fmt.Fprintf(p.out, "\r%*s\r", len(p.what)+6, "")
	}
}
