package report

import (
	"bufio"
	"fmt"
	"io"
	"iter"
	"regexp"
	"time"

	"legroom/rig"
	"legroom/watch"
	"legroom/watch/journal"
)

// WriteNights lists the nights of a journal.
func WriteNights(w io.Writer, nights []journal.Night, site *rig.Site) error {
	zone, err := time.LoadLocation(site.TimeZone)
	if err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	if len(nights) == 0 {
		fmt.Fprintln(b, "The journal has no night yet.")
	}
	for _, n := range nights {
		from, to := n.From.In(zone), n.To.In(zone)
		until := to.Format("15:04")
		if day := to.Format(time.DateOnly); day != from.Format(time.DateOnly) {
			until += " on " + day
		}
		fmt.Fprintf(b, "evening of %s   %s to %s (%s)\n", n.Evening, from.Format("15:04"), until, site.TimeZone)
	}
	return b.Flush()
}

// WriteReplay tells one night in words, a line for each thing that was decided, told, done or went wrong, in the time of the site.
// Samples are counted, and the least gap among them named. When reading breaks off, what was read stands there and the error is
// returned.
func WriteReplay(w io.Writer, evening string, sessions []journal.Session, site *rig.Site, rows iter.Seq2[journal.Row, error]) error {
	zone, err := time.LoadLocation(site.TimeZone)
	if err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "Night of %s, times of %s\n", bothDays(evening), site.TimeZone)
	fmt.Fprintf(b, "! alarm, error or failed command   ? warning   » decision   > command to the mount\n")
	day := evening
	by := map[int64]journal.Session{}
	for _, s := range sessions {
		by[s.ID] = s
	}
	var broken error
	var session int64
	var samples, unknown int
	var least *watch.Sample
	for row, err := range rows {
		if err != nil {
			broken = err
			break
		}
		if s, ok := by[row.Session]; ok && row.Session != session {
			fmt.Fprintf(b, "\nWatch of rig %q (fingerprint %s) on %s, %s\n", s.Rig, s.Print, s.Mount, s.Program)
		}
		session = row.Session
		if now := row.At.In(zone).Format(time.DateOnly); now != day && row.Sample == nil {
			fmt.Fprintf(b, "\n%s\n", now)
			day = now
		}
		if c := row.Sample; c != nil {
			samples++
			switch {
			case c.Proven() == nil:
				unknown++
			case least == nil || *c.LowerMM < *least.LowerMM:
				least = c
			}
			continue
		}
		sign, text := told(row.Record)
		text = minusZero.ReplaceAllString(text, "$1$2")
		fmt.Fprintf(b, "%s  %s %s\n", row.At.In(zone).Format("15:04:05"), sign, text)
	}
	fmt.Fprintf(b, "\n%d samples", samples)
	if least != nil {
		fmt.Fprintf(b, "; least gap proven %.1f mm, %s to %s, at %s", down(*least.LowerMM), least.A, least.B, least.Got.In(zone).Format("15:04:05"))
	}
	if unknown > 0 {
		fmt.Fprintf(b, "; no gap known in %d", unknown)
	}
	fmt.Fprintln(b)
	if err := b.Flush(); err != nil {
		return err
	}
	return broken
}

// minusZero is an angle of zero with a sign: what was recorded of a place a hair below it.
var minusZero = regexp.MustCompile(`(^|[^0-9.])[-−](0(?:\.0+)?°)`)

// told gives a record's sign and words.
func told(r watch.Record) (sign, text string) {
	switch {
	case r.Event != nil && r.Event.Over:
		return " ", "over: " + r.Event.Text
	case r.Event != nil && r.Event.Level == watch.Alarm:
		return "!", r.Event.Text
	case r.Event != nil && r.Event.Level == watch.Warning:
		return "?", r.Event.Text
	case r.Event != nil:
		return " ", r.Event.Text
	case r.Decision != nil:
		return "»", fmt.Sprintf("from %s to %s: %s", r.Decision.From, r.Decision.To, r.Decision.Why)
	case r.Command != nil && r.Command.OK:
		return ">", r.Command.Name + ": " + r.Command.Answer
	case r.Command != nil:
		return "!", r.Command.Name + " failed: " + r.Command.Answer
	case r.Error != nil:
		return "!", r.Error.Where + ": " + r.Error.Text
	}
	return " ", string(r.Kind)
}
