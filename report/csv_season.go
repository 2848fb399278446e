package report

import (
	"encoding/csv"
	"io"
	"strconv"
)

// WriteSeasonCSV writes a season as comma-separated values, a row for each target and month, and one for the season, whose month is
// "all". The cost in percent is empty where there is nothing to lose.
func WriteSeasonCSV(w io.Writer, d SeasonDoc) error {
	c := csv.NewWriter(w)
	c.Write([]string{"target", "dec_deg", "month", "nights", "dark_h", "sky_h", "sky_nights", "hours", "no_way_h", "flip_h", "idle_h", "no_room_h", "cost_h", "cost_percent", "usable_nights",
		"two_number_hours", "two_number_no_way_h", "two_number_flip_h", "two_number_idle_h", "two_number_no_room_h", "two_number_cost_h", "two_number_cost_percent", "two_number_usable_nights"})
	hours := func(h float64) string { return csvNear(h, csvOther) }
	limited := func(l LimitedDoc) []string {
		percent := ""
		if l.CostPercent != nil {
			percent = csvUp(*l.CostPercent, csvOther)
		}
		return []string{csvDown(l.Hours, csvOther), hours(l.NoWayH), hours(l.FlipH), hours(l.IdleH), hours(l.NoRoomH), csvUp(l.CostH, csvOther), percent, strconv.Itoa(l.Nights)}
	}
	all := MonthDoc{Month: "all"}
	for _, m := range d.Months {
		all.Nights += m.Nights
		all.DarkH = nearest(all.DarkH + m.DarkH)
	}
	for _, t := range d.Targets {
		row := func(m MonthDoc, h HoursDoc) {
			cells := []string{cell(t.Name), number(t.DecDeg), m.Month, strconv.Itoa(m.Nights), hours(m.DarkH), hours(h.SkyH), strconv.Itoa(h.Nights)}
			c.Write(append(append(cells, limited(h.By)...), limited(h.Two)...))
		}
		for k, h := range t.ByMonth {
			row(d.Months[k], h)
		}
		row(all, t.All)
	}
	c.Flush()
	return c.Error()
}
