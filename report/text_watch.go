package report

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"legroom/watch"
)

// WatchView is what a terminal shows of a watch: large in meaning, few in lines.
type WatchView struct {
	Status   *watch.Status
	MarginMM float64
	Zone     *time.Location
	Now      time.Time
}

// rungWords say in capitals what the watch does.
var rungWords = map[watch.Rung]string{
	watch.Watching: "WATCHING", watch.Warned: "WATCHING, A STOP IS DUE SOON", watch.Stopping: "STOPPING THE MOUNT", watch.Stopped: "STOPPED",
	watch.Hooked: "THE MOUNT DOES NOT STOP: THE HOOK WAS CALLED",
}

// Title is what the watch does, and whether it is blind.
func (v WatchView) Title() string {
	s := rungWords[v.Status.Rung]
	if len(v.Status.Blind) > 0 {
		s += ", BLIND"
	}
	return s
}

// Left is the time left until a stop is due, in words. It is rounded down.
func (v WatchView) Left() string {
	s := v.Status
	switch {
	case len(s.Blind) > 0: // what was worked out last may hold no more
		return "not known"
	case s.LeftS != nil:
		return lasting(time.Duration(*s.LeftS * float64(time.Second)))
	case s.Sample == nil:
		return "not known"
	case s.Sample.Motion == watch.Still:
		return "no end: the mount stands still"
	case s.Sample.Motion == watch.Moves:
		return "the mount is moving"
	case s.NoEnd:
		return "no end within a turn of the axis"
	}
	return "not known"
}

// lasting is a time rounded down: hours and minutes, then minutes and seconds, then seconds.
func lasting(d time.Duration) string {
	switch {
	case d >= time.Hour:
		return fmt.Sprintf("%d h %02d min", int(d.Hours()), int(d.Minutes())%60)
	case d >= time.Minute:
		return fmt.Sprintf("%d min %02d s", int(d.Minutes()), int(d.Seconds())%60)
	}
	return fmt.Sprintf("%d s", max(0, int(d.Seconds())))
}

// Gap is the proven gap with the pair that sets it, while the watch is not blind.
func (v WatchView) Gap() string {
	mm := v.Status.Proven()
	if mm == nil {
		return "not known"
	}
	p := v.Status.Sample
	return fmt.Sprintf("%.0f mm at least, %s to %s; margin %s mm", math.Floor(*mm), p.A, p.B, plain(v.MarginMM, 1))
}

// Mount is what the mount does, and what its side is known by.
func (v WatchView) Mount() string {
	p := v.Status.Sample
	if p == nil {
		return "no usable reading yet"
	}
	does := string(p.Motion)
	switch {
	case p.Motion == watch.Tracks && p.Tracking == "no":
		does = "not seen to stand still yet"
	case p.Motion == watch.Tracks && p.Parked == "yes":
		does = "said to track"
	}
	s := fmt.Sprintf("%s, side %s (%s)", does, p.Side, p.SideHow)
	if p.Parked == "yes" {
		s = "parked, " + s
	}
	if v.Status.AgeS != nil {
		s += fmt.Sprintf(", read %.1f s ago", *v.Status.AgeS)
	}
	if v.Status.PathOK {
		s += ", on a proven path"
	}
	return s
}

// Counts is what has happened since the start.
func (v WatchView) Counts() string {
	c := &v.Status.Counts
	return fmt.Sprintf("%d looks, %d errors, %d warnings, %d stops, %d slews of which %d not protected", c.Readings, c.ReadErrors, c.Warnings, c.Stops, c.Slews, c.Unprotected)
}

// Lines is the block that is shown and shown again, of at most 100 columns.
func (v WatchView) Lines() []string {
	s := v.Status
	var p page
	row := func(name, text string) { p.para(fmt.Sprintf("  %-10s ", name), strings.Repeat(" ", 13), text) }
	p.line("%s   %s", v.Title(), v.Now.In(v.Zone).Format("15:04:05 MST"))
	row("Time left", v.Left())
	row("Gap", v.Gap())
	row("Mount", v.Mount())
	for _, why := range s.BlindWhy {
		row("Blind", why)
	}
	if s.Rung != watch.Watching && s.Why != "" {
		row("Why", s.Why)
	}
	if s.SunMeets != nil {
		row("Sun", "near where the tube points at "+s.SunMeets.In(v.Zone).Format("2006-01-02 15:04")+": cover it, or move it, before")
	}
	if s.Snoozed != nil {
		row("Snoozed", "the warning is silent until "+s.Snoozed.In(v.Zone).Format("15:04"))
	}
	for _, a := range s.Alarms {
		known := ""
		if a.Known {
			known = " (acknowledged)"
		}
		row(strings.ToUpper(string(a.Level)), fmt.Sprintf("%s [%s]%s", a.Text, a.Key, known))
	}
	row("So far", v.Counts())
	return p.lines()
}

// Line is the whole state for a log, in lines of at most 100 columns, of which the first alone begins with the time.
func (v WatchView) Line() string {
	return logged(v.Now.In(v.Zone), "", fmt.Sprintf("%s; time left: %s; gap: %s; mount: %s", v.Title(), v.Left(), v.Gap(), v.Mount()))
}

// logged puts words of a log behind their time and mark, and fills the lines.
func logged(at time.Time, mark, words string) string {
	first := at.Format("15:04:05") + "  " + mark
	return Fill(first, strings.Repeat(" ", utf8.RuneCountInString(first)), words, Columns)
}

// WatchEvent is an event in lines of at most 100 columns, of which the first alone begins with time and level.
func WatchEvent(e watch.Event, zone *time.Location) string {
	word := strings.ToUpper(string(e.Level))
	if e.Over {
		word = "ENDED"
	}
	return logged(e.At.In(zone), fmt.Sprintf("%-7s  ", word), fmt.Sprintf("%s [%s]", e.Text, e.Key))
}
