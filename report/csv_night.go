package report

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"
	"time"
)

// WriteScheduleCSV writes a night's schedule as comma-separated values, a row a block.
func WriteScheduleCSV(w io.Writer, d NightDoc) error {
	c := csv.NewWriter(w)
	c.Write([]string{"target", "side", "either_side", "from", "to", "from_utc", "to_utc", "sub_count", "sub_s", "slew_begin", "slew_end", "flip", "slew_from", "slew_via", "why"})
	for _, b := range d.Schedule {
		c.Write([]string{cell(b.Target), b.Side, strconv.FormatBool(b.Either), stamp(&b.From), stamp(&b.To), stamp(&b.UTC[0]), stamp(&b.UTC[1]), strconv.Itoa(b.SubCount), number(b.SubS),
			stamp(&b.Come.Begin), stamp(&b.Come.End), strconv.FormatBool(b.Come.Flip), b.Come.From, b.Come.Via, cell(b.Why)})
	}
	c.Flush()
	return c.Error()
}

// WriteTargetsCSV writes what a night has for each target, a row a target. Windows are from..to, separated by spaces; a cell is empty
// where a thing does not happen.
func WriteTargetsCSV(w io.Writer, d NightDoc) error {
	c := csv.NewWriter(w)
	c.Write([]string{"target", "ra_deg", "dec_deg", "priority", "sub_s", "transit", "usable", "first_side", "stop", "resume", "flip_windows", "idle_min", "stop_min", "flip_from_min",
		"flip_until_min", "advice", "sub_count", "other_limits", "other_sub_count", "lost_min", "lost_twilight_min", "lost_horizon_min", "lost_moon_min", "lost_no_room_min", "lost_idle_min",
		"lost_flip_min", "lost_rest_min", "moon_separation_deg", "moon_brighter_mag", "max_altitude_deg", "why_not"})
	lost := func(min float64) string { return csvNear(min, csvMinute) }
	for _, t := range d.Targets {
		side := ""
		if t.FirstSide != nil {
			side = *t.FirstSide
		}
		l := &t.Lost
		c.Write([]string{cell(t.Name), number(t.RADeg), number(t.DecDeg), strconv.Itoa(t.Priority), number(t.SubS), stamp(t.Transit), stamps(t.Usable), side, stamp(t.Stop), stamp(t.Resume),
			stamps(t.FlipWindows), csvUp(t.IdleMin, csvMinute), minutes(t.Advice.StopMin), minutes(t.Advice.FlipFromMin), minutes(t.Advice.FlipUntilMin), cell(t.Advice.Text), strconv.Itoa(t.SubCount),
			string(t.Other.Mode), strconv.Itoa(t.Other.SubCount), csvUp(t.LostMin, csvMinute), lost(l.Twilight), lost(l.Horizon), lost(l.Moon), lost(l.NoRoom), lost(l.Idle),
			lost(l.Flip), lost(l.Rest), csvDown(t.MoonSeparation, csvDeg), csvNear(t.MoonBrighter, csvOther), csvDown(t.MaxAltitude, csvDeg), cell(t.WhyNot)})
	}
	c.Flush()
	return c.Error()
}

// cell keeps a spreadsheet from taking words for a formula.
func cell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

func minutes(m *int) string {
	if m == nil {
		return ""
	}
	return strconv.Itoa(*m)
}

func stamp(t *time.Time) string {
	if t == nil {
		return ""
	}
	return t.Format(time.RFC3339)
}

func stamps(ws []Times) string {
	var out []string
	for _, w := range ws {
		out = append(out, stamp(&w[0])+".."+stamp(&w[1]))
	}
	return strings.Join(out, " ")
}
