package report

import (
	"fmt"
	"io"
	"math"

	"legroom/rig"
)

// WritePose writes a pose as text of at most 100 columns.
func WritePose(w io.Writer, d PoseDoc) error {
	p := &page{}
	tube := "the tube is " + d.TubeIs
	if d.TubeIs == "west" || d.TubeIs == "east" {
		tube += " of the polar axis"
	} else {
		tube += " the polar axis"
	}
	p.line("Side %s, hour angle %s (%s h), declination %s; %s.", d.Side, signed(int(math.Round(d.HourAngleH*60))), plain(d.HourAngleH, 4), angle(d.DecDeg, 3), tube)
	p.line("RA axis %s from counterweight-down, declination axis %s from the elevated pole.", angle(d.RAAxisDeg, 3), angle(d.DecAxisDeg, 3))
	p.line("")
	word := "NOT FREE"
	if d.Free {
		word = "Free"
	}
	off := "tolerances taken off"
	if d.Mode == rig.None {
		off = "no tolerances taken off"
	}
	p.line("%s: the least gap is %s; at least %s proven (%s, %s); the margin is %s mm.", word, gapWords(d.GapMM), floorMM(d.GapLowerMM), off, d.Mode, plain(d.MarginMM, 1))
	p.line("")
	if len(d.Nearest) > 0 {
		p.line("  %s  %s  %s  %s  %s", pad("part", 30), pad("part", 30), padLeft("gap mm", 9), padLeft("tolerance", 9), padLeft("proven", 9))
		for _, n := range d.Nearest {
			p.line("  %s  %s  %s  %s  %s", pad(n.A, 30), pad(n.B, 30), padLeft(fmt.Sprintf("%.1f", n.GapMM), 9), padLeft(fmt.Sprintf("%.1f", math.Ceil(n.ToleranceMM*10)/10), 9),
				padLeft(fmt.Sprintf("%.1f", math.Floor(n.GapLowerMM*10)/10), 9))
		}
		n := d.Nearest[0]
		p.line("")
		p.line("  Nearest points, mm east, north, up of the support's centre on the ground:")
		p.line("    %s  %s", pad(n.A, 30), pointWords(n.PointA))
		p.line("    %s  %s", pad(n.B, 30), pointWords(n.PointB))
	}
	if u := unmeasured(d.Unmeasured); u != "" {
		p.line("")
		p.para("", "  ", u)
	}
	return p.writeTo(w)
}

func gapWords(mm float64) string {
	if mm <= 0 {
		return fmt.Sprintf("%.1f mm (they overlap)", mm)
	}
	return fmt.Sprintf("%.1f mm", mm)
}

func floorMM(mm float64) string { return fmt.Sprintf("%.1f mm", math.Floor(mm*10)/10) }

func pointWords(p [3]float64) string {
	return fmt.Sprintf("(%.0f, %.0f, %.0f)", p[0]+0, p[1]+0, p[2]+0)
}

// WriteSlew writes a slew as text of at most 100 columns.
func WriteSlew(w io.Writer, d SlewDoc) error {
	p := &page{}
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
