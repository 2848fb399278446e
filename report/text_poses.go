package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
)

// PoseWriter writes the answers for many poses, a line each.
type PoseWriter struct {
	w      io.Writer
	format string
	table  *csv.Writer
	begun  bool
}

// NewPoseWriter writes to w: format text or csv gives a table with a line of names above it, any other JSON lines.
func NewPoseWriter(w io.Writer, format string) *PoseWriter {
	return &PoseWriter{w: w, format: format, table: csv.NewWriter(w)}
}

// Write writes one line.
func (p *PoseWriter) Write(d PoseLine) error {
	first := !p.begun
	p.begun = true
	switch p.format {
	case "csv":
		if first {
			p.table.Write([]string{"side", "hour_angle_h", "dec_deg", "gap_mm", "gap_lower_mm", "free", "a", "b", "out_of_travel"})
		}
		why := ""
		if d.OutOfTravel != nil {
			why = *d.OutOfTravel
		}
		p.table.Write([]string{d.Side, number(d.HourAngleH), number(d.DecDeg), csvNear(d.GapMM, csvMM), csvDown(d.GapLowerMM, csvMM), strconv.FormatBool(d.Free), cell(d.A), cell(d.B), cell(why)})
		p.table.Flush()
		return p.table.Error()
	case "text":
		if first {
			if _, err := fmt.Fprintln(p.w, "side  hour angle  declination   gap mm  proven mm            nearest pair"); err != nil {
				return err
			}
		}
		free := "free    "
		if !d.Free {
			free = "NOT FREE"
		}
		pair := d.A + " – " + d.B
		if d.OutOfTravel != nil {
			pair = "outside the axes' travel"
		}
		_, err := fmt.Fprintf(p.w, "%s  %s  %s  %s  %s  %s  %s\n", d.Side, padLeft(plain(d.HourAngleH, 4)+" h", 10), padLeft(angle(d.DecDeg, 3), 11),
			padLeft(tenths(d.GapMM), 7), padLeft(tenths(math.Floor(d.GapLowerMM*10)/10), 9), free, cut(pair, 42))
		return err
	}
	return WriteLine(p.w, d)
}
