package report

import (
	"fmt"
	"io"
	"math"
)

// WriteSlew writes a slew as text of at most 100 columns.
func WriteSlew(w io.Writer, d SlewDoc) error {
	p := &page{}
	if w := onlyWithout(d.Basis); w != "" {
		p.line("%s", w)
		p.line("")
	}
	for _, e := range []struct {
		name string
		at   AxisPoseDoc
	}{{"From", d.From}, {"To", d.To}} {
		p.line("%s %s", pad(e.name, 4), axisPoseWords(e.at))
	}
	p.line("")
	word := "NOT PROVEN: some order of the axes that the document leaves open is not free"
	if d.Safe {
		word = "Safe in every order of the axes that the document leaves open"
	}
	p.line("%s; about %s s.", word, plain(math.Ceil(d.DurationS), 0))
	for _, o := range []struct {
		name string
		free bool
	}{{"any order", d.AnyOrder}, {"both at once", d.BothAtOnce}, {"RA first", d.RAFirst}, {"declination first", d.DecFirst}} {
		s := "not proven"
		if o.free {
			s = "free"
		}
		p.line("  %s  %s", pad(o.name, 20), s)
	}
	if o := d.Obstruction; o != nil {
		p.para("  In the way: ", "    ", fmt.Sprintf("%s and %s (%s) at %s", o.A, o.B, o.State, axisPoseWords(o.At)))
	}
	if len(d.Route) > 0 {
		p.line("")
		s := "A route that is proven in any order"
		if d.RouteS != nil {
			s += fmt.Sprintf(", about %s s", plain(math.Ceil(*d.RouteS), 0))
		}
		p.line("%s:", s)
		for i, q := range d.Route {
			p.line("  %d  %s", i+1, axisPoseWords(q))
		}
	}
	return p.writeTo(w)
}

func axisPoseWords(a AxisPoseDoc) string {
	return fmt.Sprintf("RA axis %s, declination axis %s (side %s, hour angle %s h, declination %s)", angle(a.RAAxisDeg, 2), angle(a.DecAxisDeg, 2),
		a.Side, plain(a.HourAngleH, 3), angle(a.DecDeg, 2))
}
