package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"legroom/night"
	"legroom/rig"
	"legroom/sky"
)

// clocks writes moments as a clock at the site shows them.
type clocks struct {
	offset bool // with the zone's offset: it changes in the night
	utc    bool // UTC is another
}

// clocksOf reads the night's zone from noon to noon.
func clocksOf(zone, date string) clocks {
	loc, err := sky.LoadZone(zone)
	if err != nil {
		return clocks{offset: true}
	}
	noon, err := time.ParseInLocation(time.DateOnly, date, loc)
	if err != nil {
		return clocks{offset: true}
	}
	noon = noon.Add(12 * time.Hour)
	_, a := noon.Zone()
	_, b := noon.Add(24 * time.Hour).Zone()
	return clocks{offset: a != b, utc: a != 0 || b != 0}
}

// at writes a whole minute.
func (k clocks) at(t time.Time) string {
	s := t.Format("15:04")
	if k.offset {
		s += short(t)
	}
	return s
}

// short is a moment's offset from UTC, without minutes where there are none: "+2", "−3:30".
func short(t time.Time) string {
	_, off := t.Zone()
	sign := "+"
	if off < 0 {
		sign, off = "−", -off
	}
	if m := off / 60 % 60; m > 0 {
		return fmt.Sprintf("%s%d:%02d", sign, off/3600, m)
	}
	return fmt.Sprintf("%s%d", sign, off/3600)
}

// down60, up60 and near60 round to whole minutes.
func down60(t time.Time) time.Time { return t.Truncate(time.Minute) }
func up60(t time.Time) time.Time   { return ceil(t, time.Minute) }
func near60(t time.Time) time.Time { return t.Round(time.Minute) }

// both writes a whole minute, and the same in UTC behind it.
func (k clocks) both(t time.Time) string {
	if !k.utc {
		return k.at(t)
	}
	return k.at(t) + t.UTC().Format(" (15:04 UTC)")
}

// span writes a window rounded inwards to whole minutes; "" when nothing is left.
func (k clocks) span(w Times) string {
	if a, b := up60(w[0]), down60(w[1]); a.Before(b) {
		return k.at(a) + "…" + k.at(b)
	}
	return ""
}

func (k clocks) spans(ws []Times) string {
	var out []string
	for _, w := range ws {
		if s := k.span(w); s != "" {
			out = append(out, s)
		}
	}
	if len(out) == 0 {
		return "not usable"
	}
	return strings.Join(out, ", ")
}

// WriteNight writes a night as text of at most 100 columns.
func WriteNight(w io.Writer, d NightDoc) error {
	p := &page{}
	k := clocksOf(d.TimeZone, d.Night)
	p.line("%s", d.Rig)
	p.para("", "", setupWords(rig.Setup{Night: d.Night, Confirmed: d.Confirmed, Reason: d.Unconfirmed}))
	p.para("", "  ", upperFirst(basisWords(d.Basis))+". Fingerprint "+d.Fingerprint+".")
	if u := unmeasured(d.Unmeasured); u != "" {
		p.para("", "  ", u)
	}
	p.line("")
	p.sun(k, &d)
	p.line("")
	p.para("", "  ", "TARGETS (each as if the whole night were for it alone; minutes from the meridian: − before, + past)")
	p.line("")
	for i := range d.Targets {
		p.target(k, &d, &d.Targets[i])
	}
	p.line("")
	p.schedule(k, &d)
	p.line("")
	p.para("ONE PAIR FOR ALL OF THEM: ", "  ", d.Pair.Text+".")
	p.para("", "  ", otherWords(&d))
	for _, n := range d.Notes {
		p.para("Note: ", "  ", n+".")
	}
	p.line("")
	p.para("", "", cautions)
	return p.writeTo(w)
}

// sun writes what Sun and Moon do, and what the plan keeps to.
func (p *page) sun(k clocks, d *NightDoc) {
	p.para("", "  ", "THE NIGHT OF "+bothDays(d.Night)+", "+zoneWords(d))
	p.line("  Local times before noon are of the second day.")
	if k.offset {
		p.para("  ", "  ", "Behind each time stands its offset from UTC.")
	}
	p.line("")
	p.para("  Sun    ", "         ", sunWords(d, k.both))
	p.para("  Moon   ", "         ", moonWords(d, k.both))
	p.para("  Limits ", "         ", limitsKept(d))
	p.para("  Asked  ", "         ", askedWords(d))
}

// moonWords says how much of the Moon is lit and when it is up; at writes a moment.
func moonWords(d *NightDoc, at func(time.Time) string) string {
	lit := fmt.Sprintf("%.0f %% lit, ", 100*d.Moon.Lit)
	rise, set := d.Moon.Rise, d.Moon.Set
	switch {
	case len(d.Moon.Up) == 0:
		return lit + "below the horizon from noon to noon"
	case rise == nil && set == nil:
		return lit + "up from noon to noon"
	case rise == nil:
		return lit + "sets " + at(near60(*set))
	case set == nil:
		return lit + "rises " + at(near60(*rise))
	case set.Before(*rise):
		return lit + "sets " + at(near60(*set)) + ", rises " + at(near60(*rise))
	}
	return lit + "rises " + at(near60(*rise)) + ", sets " + at(near60(*set))
}

// askedWords says what holds where a target does not say otherwise.
func askedWords(d *NightDoc) string {
	above := "above the horizon"
	if d.LeastAlt > 0 {
		above += " and at least " + plain(d.LeastAlt, 2) + "° high"
	} else {
		above += ", no least altitude"
	}
	return fmt.Sprintf("%s; sub-exposures of %s s unless a target says otherwise", above, plain(d.SubS, 1))
}

func limitsKept(d *NightDoc) string {
	pair := fmt.Sprintf("west %s°, east %s°", entry(d.Limits.WestDeg), entry(d.Limits.EastDeg))
	if d.Limits.Mode == ByTwoNumber {
		return "by one RA axis limit a side for these targets alone, " + pair + ". Every night's pair, which is the one to enter and leave, is legroom limits'"
	}
	return "by declination, each target's own"
}

// zoneWords says which clocks are meant.
func zoneWords(d *NightDoc) string {
	loc, err := sky.LoadZone(d.TimeZone)
	if err != nil {
		return d.TimeZone
	}
	noon, err := time.ParseInLocation(time.DateOnly, d.Night, loc)
	if err != nil {
		return d.TimeZone
	}
	noon = noon.Add(12 * time.Hour)
	before, after := noon.Format("UTC-07:00"), noon.Add(24*time.Hour).Format("UTC-07:00")
	if before == after {
		return d.TimeZone + ", " + before
	}
	return fmt.Sprintf("%s, %s, THE CLOCKS CHANGE to %s", d.TimeZone, before, after)
}

// sunWords says when it is night and when dark; at writes a moment.
func sunWords(d *NightDoc, at func(time.Time) string) string {
	var out []string
	switch d.Sun {
	case "never_sets":
		out = append(out, "polar day, it does not set")
	case "never_rises":
		out = append(out, "polar night, it does not rise")
	}
	if d.Sunset != nil {
		out = append(out, "sets "+at(near60(*d.Sunset)))
	}
	dark := "dark (below " + angle(d.DarkBelow, 2) + ")"
	switch d.Dark {
	case "never":
		out = append(out, "never below "+angle(d.DarkBelow, 2)+": IT DOES NOT GET DARK")
	case "from_noon_to_noon":
		out = append(out, dark+" from noon to noon")
	default:
		if d.DarkFrom != nil {
			dark += " from " + at(up60(*d.DarkFrom))
		}
		if d.DarkTo != nil {
			dark += " until " + at(down60(*d.DarkTo))
		}
		out = append(out, dark)
	}
	if d.Sunrise != nil {
		out = append(out, "rises "+at(near60(*d.Sunrise)))
	}
	return strings.Join(out, ", ")
}

// nameWide is how wide a target's name stands; a longer one has a line of its own.
const nameWide = 16

// target writes two lines: when it is usable, what fits and what the rig costs; and what the owner does.
func (p *page) target(k clocks, d *NightDoc, t *TargetPlan) {
	indent := strings.Repeat(" ", nameWide+4)
	first := indent
	if utf8.RuneCountInString(t.Name) > nameWide {
		p.line("  %s", t.Name)
	} else {
		first = "  " + pad(t.Name, nameWide) + "  "
	}
	if t.WhyNot != "" {
		p.para(first, indent, "nothing: "+t.WhyNot)
		if !strings.HasPrefix(t.WhyNot, t.Advice.Text) {
			p.para("    ", "    ", t.Advice.Text)
		}
		return
	}
	p.para(first, indent, k.spans(t.Usable)+": "+subsWords(t))
	p.para("    ", "    ", adviceWords(k, d, t)+"; highest "+whole(t.MaxAltitude)+", Moon "+whole(t.MoonSeparation)+" away")
}

// whole writes degrees rounded down.
func whole(deg float64) string { return plain(math.Floor(deg), 0) + "°" }

// subsWords says how many sub-exposures fit, with the other limits too where that is another number, and what the rig costs.
func subsWords(t *TargetPlan) string {
	s := fmt.Sprintf("%d × %s s", t.SubCount, plain(t.SubS, 1))
	if t.Other.SubCount != t.SubCount {
		s += fmt.Sprintf(" (%s: %d)", limitWords(t.Other.Mode), t.Other.SubCount)
	}
	if t.LostMin > 0 {
		s += "; rig costs " + duration(int(math.Ceil(t.LostMin))) + " (" + costParts(t) + ")"
	}
	return s
}

// costParts names what the rig's cost is made of, in whole minutes that add up to it.
func costParts(t *TargetPlan) string {
	l, flip := &t.Lost, "flip"
	if t.Advice.Kind == night.NoFlipProven {
		flip = "no proven flip"
	}
	var names, figures []string
	sum := 0.0
	for _, part := range []struct {
		name string
		min  float64
	}{{"no room", l.NoRoom}, {"idle", l.Idle}, {flip, l.Flip}} {
		before := math.Ceil(sum)
		if sum += part.min; part.min > 0 {
			names = append(names, part.name)
			figures = append(figures, part.name+" "+duration(int(math.Ceil(sum)-before)))
		}
	}
	if len(names) == 1 {
		return names[0]
	}
	return strings.Join(figures, ", ")
}

func limitWords(m LimitMode) string {
	if m == ByTwoNumber {
		return "one limit a side"
	}
	return "by declination"
}

// adviceWords is the advice with the clock's times behind it, where they are in the dark.
func adviceWords(k clocks, d *NightDoc, t *TargetPlan) string {
	var clock []string
	a := &t.Advice
	for _, m := range []*int{a.StopMin, a.FlipFromMin, a.FlipUntilMin} {
		if m == nil || m == a.FlipUntilMin && a.FlipFromMin != nil && *m <= *a.FlipFromMin {
			continue // a window of one minute is told by its beginning
		}
		s := k.advised(d, t, m)
		if s == "" {
			return t.Advice.Text
		}
		clock = append(clock, s)
	}
	return t.Advice.Text + bracketed(strings.Join(clock, ", "))
}

// advised is what the clock shows at one of the minutes of a target's advice; "" when it is not dark then.
func (k clocks) advised(d *NightDoc, t *TargetPlan, m *int) string {
	if t.Transit == nil || d.DarkFrom == nil || d.DarkTo == nil {
		return ""
	}
	at := t.Transit.Add(time.Duration(*m) * time.Minute)
	if at.Before(*d.DarkFrom) || at.After(*d.DarkTo) {
		return ""
	}
	if m == t.Advice.FlipFromMin {
		at = up60(at) // a flip begins after its first moment; everything else has happened by its own
	}
	return k.at(at)
}

func bracketed(s string) string {
	if s == "" {
		return ""
	}
	return " [" + s + "]"
}

// sideWords says which side a block is on.
func sideWords(b *BlockDoc) string {
	if b.Either {
		return "either side"
	}
	return "side " + b.Side
}

// schedule writes the night's blocks, two lines each.
func (p *page) schedule(k clocks, d *NightDoc) {
	p.para("SCHEDULE: ", "  ", scheduleWords(d, ": "+tried))
	if len(d.Schedule) == 0 {
		return
	}
	p.line("")
	for i := range d.Schedule {
		b := &d.Schedule[i]
		utc := ""
		if k.utc {
			utc = fmt.Sprintf(" (%s…%s UTC)", b.From.UTC().Format("15:04"), b.To.UTC().Format("15:04"))
		}
		p.para("  ", "    ", fmt.Sprintf("%s…%s%s  %s, %s, %d × %s s", k.at(b.From), k.at(b.To), utc, b.Target, sideWords(b), b.SubCount, plain(b.SubS, 1)))
		p.para("      ", "      ", upperFirst(moveWords(k, &b.Come))+"; "+b.Why+".")
	}
	if m := d.Park; m != nil {
		p.para("  ", "      ", "Then "+moveWords(k, m)+".")
	}
}

// tried says among which plans the schedule is the best: those that the search goes through (docs/tonight.md has the waits).
const tried = "whole minutes, slews straight or by way of park or home, at once or after set waits"

// scheduleWords says how good the schedule is; more goes on from what is tried.
func scheduleWords(d *NightDoc, more string) string {
	if len(d.Schedule) == 0 {
		return "nothing can be exposed tonight."
	}
	s := fmt.Sprintf("%d sub-exposures; ", d.SubCount)
	if d.Worth.Exact {
		return s + "no other order is worth more among what is tried" + more + "."
	}
	return s + fmt.Sprintf("worth at least %s %% of the best that can be among what is tried%s.", plain(math.Floor(1000*d.Worth.Min/d.Worth.Bound)/10, 1), more)
}

// moveWords says when the mount goes and how.
func moveWords(k clocks, m *MoveDoc) string {
	s := "slew at "
	switch {
	case m.Flip:
		s = "flip at "
	case m.To != "":
		s = m.To + " at "
	}
	s += k.at(up60(m.Begin)) // no earlier than it is proven; it is for a minute later
	if m.From != "" {
		s += " from " + m.From
	}
	if m.Via != "" {
		s += " by way of " + m.Via
	}
	return s
}

// otherWords says what the other limits would make of the night.
func otherWords(d *NightDoc) string {
	o := &d.OtherLimits
	how := "With limits by declination alone"
	if o.Mode == ByTwoNumber {
		how = fmt.Sprintf("With one RA axis limit a side for these targets alone (west %s°, east %s°: not to be left in the mount, legroom limits gives that pair)", entry(d.Limits.WestDeg), entry(d.Limits.EastDeg))
	}
	share := ""
	if d.Worth.Min > 0 {
		share = fmt.Sprintf(", worth %.0f %% of it", 100*o.Worth.Min/d.Worth.Min)
	}
	return fmt.Sprintf("%s the schedule holds %d sub-exposures instead of %d%s. Minutes of that plan, not to be entered for this one: %s.", how, o.SubCount, d.SubCount, share, o.Pair.Text)
}
