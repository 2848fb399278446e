package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"
	"unicode/utf8"
)

// seasonName is how many letters a target's name has in the tables of a season.
const seasonName = 16

// WriteSeason writes a season as text of at most 100 columns.
func WriteSeason(w io.Writer, d SeasonDoc) error {
	p := &page{}
	p.line("%s", d.Rig)
	p.para("", "", "PLANNED, NOT CONFIRMED: a set-up is confirmed for one night, not for a season.")
	p.para("", "", upperFirst(basisWords(d.Basis))+". Fingerprint "+d.Fingerprint+".")
	if u := unmeasured(d.Unmeasured); u != "" {
		p.para("", "  ", u)
	}
	p.para("", "", seasonTerms(d))
	p.line("")
	p.line("HOURS BY MONTH")
	p.line("")
	for first := 0; first < len(d.Months); first += 12 {
		p.seasonMonths(d, first, min(first+12, len(d.Months)))
	}
	p.para("  ", "  ", "sky: without the rig. with rig: with its limits by declination, from the first proven slew there from park on, less flips and idle. 2-number: with one RA axis limit a "+
		"side for these targets alone as well (west "+entry(d.WestDeg)+"°, east "+entry(d.EastDeg)+"°: not to be left in the mount, legroom limits gives that pair). "+
		"Hours are rounded down.")
	p.line("")
	p.line("WHAT THE RIG COSTS")
	p.line("")
	p.seasonCosts(d)
	p.line("")
	p.para("", "", cautions)
	return p.writeTo(w)
}

// seasonTerms says what is counted.
func seasonTerms(d SeasonDoc) string {
	s := fmt.Sprintf("Evenings of %s, %s. Counted: the Sun below %s", periodWords(d), d.TimeZone, angle(d.DarkBelow, 2))
	if d.LeastAlt > 0 {
		s += fmt.Sprintf(", the target above the horizon and %s", angle(d.LeastAlt, 2))
	} else {
		s += ", the target above the horizon"
	}
	if d.MoonApart > 0 {
		s += fmt.Sprintf(", the Moon down or at least %s° away", plain(d.MoonApart, 1))
		if d.MoonLit > 0 {
			s += fmt.Sprintf(" or lit less than %s %%", plain(d.MoonLit*100, 1))
		}
	}
	s += "."
	if d.EitherUnsure {
		s += " The document leaves open which side the mount takes: only what is free on both sides counts."
	}
	return s
}

func periodWords(d SeasonDoc) string {
	if d.From == d.To {
		return monthWords(d.From)
	}
	return monthWords(d.From) + " to " + monthWords(d.To)
}

func monthWords(yearMonth string) string {
	t, err := time.Parse("2006-01", yearMonth)
	if err != nil {
		return yearMonth
	}
	return t.Format("Jan 2006")
}

// seasonMonths writes the table of up to twelve months, and the whole season's sum behind the last.
func (p *page) seasonMonths(d SeasonDoc, from, to int) {
	last := to == len(d.Months)
	head, years := pad("", seasonName+11), pad("", seasonName+11)
	for k := from; k < to; k++ {
		name, year, _ := strings.Cut(monthWords(d.Months[k].Month), " ")
		head += padLeft(name, 5)
		if k > from && d.Months[k].Month[:4] == d.Months[k-1].Month[:4] {
			year = ""
		}
		years += padLeft(year, 5)
	}
	if last {
		head += padLeft("all", 7)
	}
	p.line("%s", years)
	p.line("%s", head)
	row := func(name, kind string, pick func(HoursDoc) float64, s SeasonSum) {
		l := pad(name, seasonName) + " " + pad(kind, 10)
		for k := from; k < to; k++ {
			l += padLeft(hourFigure(pick(s.ByMonth[k])), 5)
		}
		if last {
			l += padLeft(hourFigure(pick(s.All)), 7)
		}
		p.line("%s", l)
	}
	rows := func(name string, s SeasonSum) {
		row(name, "sky", func(h HoursDoc) float64 { return h.SkyH }, s)
		row("", "with rig", func(h HoursDoc) float64 { return h.By.Hours }, s)
		row("", "2-number", func(h HoursDoc) float64 { return h.Two.Hours }, s)
		p.line("")
	}
	for _, t := range d.Targets {
		rows(t.Name, t.SeasonSum)
	}
	if len(d.Targets) > 1 {
		rows("All targets", d.Total)
	}
}

// hourFigure writes hours rounded down: one decimal below ten, "–" for none.
func hourFigure(h float64) string {
	switch {
	case h == 0:
		return "–"
	case h < 0.1:
		return "<0.1"
	case h < 10:
		return fmt.Sprintf("%.1f", math.Floor(h*10)/10)
	}
	return fmt.Sprintf("%.0f", math.Floor(h))
}

// seasonCosts writes a line a target: best month, nights, and what the limits cost.
func (p *page) seasonCosts(d SeasonDoc) {
	lines := [][]string{{"target", "dec", "best", "nights", "with rig", "way", "flips", "idle", "room", "2-number"}}
	line := func(name, dec, best string, h HoursDoc) {
		nights := fmt.Sprintf("%d/%d", h.By.Nights, h.Nights)
		if name == "All targets" {
			nights = ""
		}
		row := append([]string{name, dec, best, nights, costWords(h.By)}, costShares(h.By)...)
		lines = append(lines, append(row, costWords(h.Two)))
	}
	for _, t := range d.Targets {
		best := "never up"
		switch {
		case t.BestMonth != nil:
			best = monthWords(*t.BestMonth)
		case t.All.SkyH > 0:
			best = "no room"
		case t.Rises:
			best = "not dark"
		}
		line(cut(t.Name, seasonName-1), angle(t.DecDeg, 1), best, t.All)
	}
	if len(d.Targets) > 1 {
		line("All targets", "", "", d.Total.All)
	}
	wide := make([]int, len(lines[0]))
	for _, l := range lines {
		for i := range l {
			wide[i] = max(wide[i], utf8.RuneCountInString(l[i]))
		}
	}
	for _, l := range lines {
		out := pad(l[0], wide[0])
		for i := 1; i < len(l); i++ {
			if i == 2 {
				out += "  " + pad(l[i], wide[i])
				continue
			}
			out += "  " + padLeft(l[i], wide[i])
		}
		p.line("%s", out)
	}
	p.line("")
	p.para("  ", "  ", fmt.Sprintf("Costs are hours that the sky has and the rig takes: with its limits by declination, of which way (no proven slew there from park), flips (with what has no proven way to change "+
		"sides), idle (from the stop on side west to the resume on side east) and no room at other times; and with the two numbers; rounded up, the parts so that they add up. Nights are those with %s min or more, of those "+
		"that the sky has.", plain(d.LeastMin, 1)))
}

// costShares writes the parts of a cost with its decimals, so that they add up to the cost as costWords writes it.
func costShares(l LimitedDoc) []string {
	var out []string
	sum, told := 0.0, 0.0
	for _, part := range []float64{l.NoWayH, l.FlipH, l.IdleH, l.NoRoomH} {
		sum += part
		shown := costUp(sum, costDecimals(l)) - told
		told += shown
		switch {
		case part == 0:
			out = append(out, "–")
		case shown < 0.05: // of what stands with the parts before it
			out = append(out, map[int]string{0: "<1", 1: "<0.1"}[costDecimals(l)])
		default:
			out = append(out, fmt.Sprintf("%.*f", costDecimals(l), shown))
		}
	}
	return out
}

// costDecimals is how many decimals a cost in hours has, with its parts.
func costDecimals(l LimitedDoc) int {
	if l.CostH >= 1000 {
		return 0
	}
	return 1
}

// costUp rounds hours up; what the parts of a cost lose to their own rounding counts as nothing.
func costUp(hours float64, decimals int) float64 {
	unit := math.Pow10(decimals)
	return zero(math.Ceil(hours*unit-1e-4) / unit)
}

// costWords writes a cost, rounded up, with its share of the sky's hours.
func costWords(l LimitedDoc) string {
	if l.CostPercent == nil {
		return "–"
	}
	if l.CostH == 0 {
		return "0 h"
	}
	share := costPct(*l.CostPercent)
	if *l.CostPercent > 10 {
		share = fmt.Sprintf("%.0f", math.Ceil(*l.CostPercent-1e-9))
	}
	return fmt.Sprintf("%.*f h %s %%", costDecimals(l), costUp(l.CostH, costDecimals(l)), share)
}
