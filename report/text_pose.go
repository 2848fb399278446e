package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"legroom/rig"
)

// WritePose writes a pose as text of at most 100 columns.
func WritePose(w io.Writer, d PoseDoc) error {
	p := &page{}
	if w := onlyWithout(d.Basis); w != "" {
		p.line("%s", w)
		p.line("")
	}
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
	off := fmt.Sprintf("tolerances (%s) taken off", d.Mode)
	if d.Mode == rig.None {
		off = "no tolerances taken off"
	}
	if d.OutOfTravel != nil {
		p.para("", "", "NOT FREE, the axes do not reach this pose: "+*d.OutOfTravel+".")
		word = "The gaps there"
	}
	p.para("", "", word+": "+decidingWords(d, off))
	p.line("")
	if len(d.Nearest) > 0 {
		p.line("  %s  %s  %s  %s  %s", pad("part", 30), pad("part", 30), padLeft("gap mm", 9), padLeft("tolerance", 9), padLeft("proven", 9))
		for _, n := range d.Nearest {
			p.line("  %s  %s  %s  %s  %s", pad(n.A, 30), pad(n.B, 30), padLeft(tenths(n.GapMM), 9), padLeft(tenths(math.Ceil(n.ToleranceMM*10)/10), 9),
				padLeft(tenths(math.Floor(n.GapLowerMM*10)/10), 9))
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

// decidingWords names the pair that decides, what is proven first, and the nearest where that is another; off says what tolerances take off.
func decidingWords(d PoseDoc, off string) string {
	c := d.Decides
	margin := fmt.Sprintf("the margin is %s mm", plain(d.MarginMM, 1))
	if len(d.Nearest) == 0 || d.Nearest[0].A == c.A && d.Nearest[0].B == c.B {
		return fmt.Sprintf("at least %s proven with %s (%s – %s); %s. By the lengths as they stand the least gap is %s.", floorMM(d.GapLowerMM), off, c.A, c.B,
			margin, gapWords(d.GapMM))
	}
	return fmt.Sprintf("%s – %s decides, at least %s proven with %s; %s. By the lengths as they stand they are %s apart, and the least gap is another, %s (%s – %s).",
		c.A, c.B, floorMM(d.GapLowerMM), off, margin, gapWords(c.GapMM), gapWords(d.GapMM), d.Nearest[0].A, d.Nearest[0].B)
}

func gapWords(mm float64) string {
	if mm <= 0 {
		return tenths(mm) + " mm (they overlap)"
	}
	return tenths(mm) + " mm"
}

func floorMM(mm float64) string { return tenths(math.Floor(mm*10)/10) + " mm" }

// tenths writes a number with one decimal.
func tenths(x float64) string { return strings.Replace(fmt.Sprintf("%.1f", x+0), "-", "−", 1) }

func pointWords(p [3]float64) string {
	return "(" + plain(p[0], 0) + ", " + plain(p[1], 0) + ", " + plain(p[2], 0) + ")"
}
