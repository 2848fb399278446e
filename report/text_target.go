package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"legroom/room"
)

// WriteTarget writes one target as text of at most 100 columns.
func WriteTarget(w io.Writer, d TargetDoc) error {
	p := &page{}
	name := d.Name
	if o := d.Object; o != nil {
		name = objectWords(*o)
	}
	p.para("", "", name+", for "+d.Rig)
	p.para("", "", upperFirst(basisWords(d.Basis))+". Fingerprint "+d.Fingerprint+".")
	if u := unmeasured(d.Unmeasured); u != "" {
		p.para("", "  ", u)
	}
	p.line("")
	p.line("  J2000     RA %s°, declination %s", plain(d.RADeg, 3), angle(d.DecDeg, 3))
	p.line("  of date   RA %s°, declination %s", plain(d.ApparentRA, 3), angle(d.ApparentDec, 3))
	p.line("")
	p.line("ANY NIGHT (minutes from the meridian: − before, + past)")
	p.line("")
	if d.Limits == nil {
		p.line("  It never stands above the horizon here.")
	} else {
		p.anyNight(&d)
	}
	p.line("")
	p.line("THE NIGHTS FROM %s", d.Nights[0].Night)
	p.line("")
	for i := range d.Nights {
		p.targetNight(&d, &d.Nights[i])
	}
	p.line("")
	n := &d.Nights[0]
	if n.Confirmed {
		p.para("", "", "Set-up confirmed for the night of "+bothDays(n.Night)+", for no other.")
	} else {
		p.para("", "", "PLANNED, NOT CONFIRMED for the night of "+bothDays(n.Night)+": "+n.Unconfirmed+".")
	}
	for _, s := range d.Notes {
		p.para("Note: ", "  ", s+".")
	}
	p.para("", "", cautions)
	return p.writeTo(w)
}

// anyNight writes what holds whatever the night: limits, what sets them, and the room of each side.
func (p *page) anyNight(d *TargetDoc) {
	r := d.Limits
	parts := func(names []string) string {
		if len(names) < 2 {
			return ""
		}
		return ": " + names[1] + " and " + names[0] + " have no more room"
	}
	stop := "stops at " + stopWords(r)
	if r.StopReason != room.ByRoom && r.StopReason != room.ByTravel {
		stop = stopWords(r)
	}
	start := "starts at " + resumeWords(r)
	if r.ResumeReason != room.ByRoom && r.ResumeReason != room.ByTravel {
		start = resumeWords(r)
	}
	p.para("  side west   ", "              ", stop+parts(d.StopParts))
	p.para("  side east   ", "              ", start+parts(d.ResumeParts))
	p.para("  enter       ", "              ", d.Advice.Text)
	if r.IdleMin > 0 {
		p.line("  idle        %s", idleWords(r))
	}
	p.line("  room        side west %s %%, side east %s %%, either %s %% of the time above the horizon", pct(d.Room.West), pct(d.Room.East), pct(d.Room.Either))
}

func (p *page) targetNight(d *TargetDoc, n *TargetNight) {
	k := clocksOf(d.TimeZone, n.Night)
	t := &n.Target
	what := k.spans(t.Usable) + ": " + subsWords(t)
	if t.WhyNot != "" {
		what = "nothing: " + t.WhyNot
	}
	if t.Transit != nil {
		what += "; transit " + k.at(near60(*t.Transit))
	}
	what += fmt.Sprintf(", highest %s, Moon %.0f %% lit, %s away", whole(t.MaxAltitude), 100*n.MoonLit, whole(t.MoonSeparation))
	p.para("  "+n.Night+"  ", "              ", what)
}

// WriteTargetCSV writes the nights of a target as comma-separated values, a row a night.
func WriteTargetCSV(w io.Writer, d TargetDoc) error {
	c := csv.NewWriter(w)
	c.Write([]string{"night", "target", "dark_from", "dark_to", "transit", "usable", "stop", "resume", "flip_windows", "idle_min", "sub_count", "other_limits", "other_sub_count", "lost_min", "moon_lit",
		"moon_separation_deg", "max_altitude_deg", "why_not"})
	for i := range d.Nights {
		n := &d.Nights[i]
		t := &n.Target
		c.Write([]string{n.Night, cell(d.Name), stamp(n.DarkFrom), stamp(n.DarkTo), stamp(t.Transit), stamps(t.Usable), stamp(t.Stop), stamp(t.Resume), stamps(t.FlipWindows), csvUp(t.IdleMin, csvMinute),
			strconv.Itoa(t.SubCount), string(t.Other.Mode), strconv.Itoa(t.Other.SubCount), csvUp(t.LostMin, csvMinute), csvNear(n.MoonLit, csvOther), csvDown(t.MoonSeparation, csvDeg), csvDown(t.MaxAltitude, csvDeg), cell(t.WhyNot)})
	}
	c.Flush()
	return c.Error()
}

// WriteObjects writes what a search has found as text of at most 100 columns.
func WriteObjects(w io.Writer, d ObjectsDoc) error {
	p := &page{}
	for _, o := range d.Objects {
		p.para("  ", "      ", fmt.Sprintf("%s; RA %s°, declination %s, %s′", objectWords(o), plain(o.RADeg, 3), angle(o.DecDeg, 3), size(o.SizeArcmin)))
	}
	n := len(d.Objects)
	p.para("", "", fmt.Sprintf("%d %s. Places are J2000 and were written from memory: check one before a narrow field relies on it.", n, plural(n, "object", "objects")))
	return p.writeTo(w)
}

func objectWords(o ObjectDoc) string {
	s := o.Designation
	if more := append(append([]string{}, o.Names...), o.Also...); len(more) > 0 {
		s += " (" + strings.Join(more, ", ") + ")"
	}
	return s + ", " + o.Kind + " in " + o.Constellation
}

func size(arcmin [2]float64) string {
	if arcmin[0] == arcmin[1] {
		return plain(arcmin[0], 1)
	}
	return plain(arcmin[0], 1) + " × " + plain(arcmin[1], 1)
}

// WriteObjectsCSV writes them as comma-separated values.
func WriteObjectsCSV(w io.Writer, d ObjectsDoc) error {
	c := csv.NewWriter(w)
	c.Write([]string{"designation", "names", "also", "kind", "constellation", "ra_deg", "dec_deg", "long_arcmin", "short_arcmin"})
	for _, o := range d.Objects {
		c.Write([]string{o.Designation, strings.Join(o.Names, "; "), strings.Join(o.Also, "; "), o.Kind, o.Constellation, number(o.RADeg), number(o.DecDeg), number(o.SizeArcmin[0]), number(o.SizeArcmin[1])})
	}
	c.Flush()
	return c.Error()
}
