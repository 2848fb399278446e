package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"legroom/axes"
	"legroom/rig"
)

// WriteLimits writes the limits of a rig as text of at most 100 columns.
func WriteLimits(w io.Writer, r *rig.Rig, d LimitsDoc) error {
	p := &page{}
	p.line("%s", d.Rig)
	p.para("", "", setupWords(rig.Setup{Night: d.Night, Confirmed: d.Confirmed, Reason: d.Unconfirmed}))
	p.para("", "", upperFirst(basisWords(d.Basis))+". Fingerprint "+d.Fingerprint+".")
	if e := checkErrors(d.CheckErrors); e != "" {
		p.para("! ", "  ", e+".")
	}
	p.para("", "  ", ownRules(&r.Mount))
	if o := orderWords(d.SlewOrders); o != "" {
		p.para("", "  ", o)
	}
	if u := unmeasured(d.Unmeasured); u != "" {
		p.para("", "  ", u)
	}
	p.line("")
	p.two(d.TwoNumber)
	p.line("")
	if d.Mine != nil {
		p.mine(d)
		p.line("")
	}
	p.line("LIMITS BY DECLINATION (minutes from the meridian: − before, + past)")
	p.line("")
	p.table(d.ByDeclination)
	p.line("")
	if unprovenWay(d.ByDeclination) {
		p.para("  ", "    ", starNote)
		p.line("")
	}
	p.otherRuns(d.ByDeclination)
	p.line("  Room above the horizon: side west %s %%, side east %s %%, either %s %%.", pct(d.RoomPercent.West), pct(d.RoomPercent.East), pct(d.RoomPercent.Either))
	p.line("")
	p.para("", "", cautions)
	return p.writeTo(w)
}

// table writes the bands of declination, each column as wide as it needs.
func (p *page) table(rows []RowDoc) {
	lines := [][4]string{{"declination", "side west: stop", "side east: start", "flip window, or idle"}}
	for i := range rows {
		lines = append(lines, [4]string{band(&rows[i]), stopWords(&rows[i]) + dagger(rows[i].WestOtherH), resumeWords(&rows[i]) + dagger(rows[i].EastOtherH), flipWords(&rows[i])})
	}
	var wide [3]int
	for _, l := range lines {
		for i := range wide {
			wide[i] = max(wide[i], utf8.RuneCountInString(l[i]))
		}
	}
	for _, l := range lines {
		first := fmt.Sprintf("  %s  %s  %s  ", pad(l[0], wide[0]), pad(l[1], wide[1]), pad(l[2], wide[2]))
		words, indent := l[3], utf8.RuneCountInString(first)
		p.para(first, strings.Repeat(" ", indent), words)
	}
}

// dagger marks a side with other runs than the one that its stop or start belongs to.
func dagger(others []Span) string {
	if len(spans(others)) == 0 {
		return ""
	}
	return " †"
}

// daggerNote explains the mark.
const daggerNote = "† more room on that side, cut off by a contact: tracking does not lead from one stretch to the other, a slew may (ask legroom slew)."

// otherRuns explains the mark: where in each band the other runs are.
func (p *page) otherRuns(rows []RowDoc) {
	var lines [][2]string
	wide := 0
	for i := range rows {
		var sides []string
		for _, s := range []struct {
			name string
			runs []Span
		}{{"side west ", rows[i].WestOtherH}, {"side east ", rows[i].EastOtherH}} {
			if runs := spans(s.runs); len(runs) > 0 {
				sides = append(sides, s.name+strings.Join(runs, ", "))
			}
		}
		if len(sides) > 0 {
			lines = append(lines, [2]string{band(&rows[i]), strings.Join(sides, "; ")})
			wide = max(wide, utf8.RuneCountInString(band(&rows[i])))
		}
	}
	if len(lines) == 0 {
		return
	}
	p.para("  ", "    ", daggerNote+" The other stretches, up and free:")
	for _, l := range lines {
		first := "    " + pad(l[0], wide) + "  "
		p.para(first, strings.Repeat(" ", utf8.RuneCountInString(first)), l[1])
	}
	p.line("")
}

// WriteTwoNumber writes the two-number limit alone.
func WriteTwoNumber(w io.Writer, d LimitsDoc) error {
	p := &page{}
	p.two(d.TwoNumber)
	return p.writeTo(w)
}

// WriteLimitsCSV writes the table by declination as comma-separated values, a row a band. Windows are from..to, separated
// by spaces; a cell is empty where its reason says that there is no such hour angle.
func WriteLimitsCSV(w io.Writer, d LimitsDoc) error {
	c := csv.NewWriter(w)
	c.Write([]string{"dec_from_deg", "dec_to_deg", "west_free_h", "east_free_h", "stop_h", "stop_reason", "resume_h", "resume_reason", "flip_h", "idle_min", "cross_h"})
	spans := func(in []Span) string {
		var out []string
		for _, s := range in {
			out = append(out, csvUp(s[0], csvHour)+".."+csvDown(s[1], csvHour))
		}
		return strings.Join(out, " ")
	}
	for _, r := range d.ByDeclination {
		c.Write([]string{csvNear(r.DecFromDeg, csvDeg), csvNear(r.DecToDeg, csvDeg), spans(r.WestFreeH), spans(r.EastFreeH), csvMaybe(r.StopH, csvDown, csvHour), string(r.StopReason),
			csvMaybe(r.ResumeH, csvUp, csvHour), string(r.ResumeReason), spans(r.FlipH), csvUp(r.IdleMin, csvMinute), csvMaybe(r.CrossH, csvUp, csvHour)})
	}
	c.Flush()
	return c.Error()
}

// ownRules says what the document tells of how the mount flips.
func ownRules(m *rig.Mount) string {
	early := "earliest flip unknown"
	if e := m.Rules.EarliestFlipMin; e != nil {
		early = "flips at " + signed(int(math.Floor(*e))) + " at the earliest"
	}
	choice := map[string]string{"as_told": "takes the side it is told", "by_hour_angle": "chooses its side by hour angle"}[m.Rules.SideChoice]
	if choice == "" {
		choice = "side choice unknown, so that it may stay on the first side"
	}
	way := map[rig.FlipWay]string{rig.ThroughPole: "declination turns through the pole", rig.AwayFromPole: "declination turns through the far pole"}[m.Travel.Flip]
	if way == "" {
		way = "declination's way unknown, so that both must be free"
	}
	return "Flips: " + early + "; " + choice + "; " + way + "."
}

// orderWords says what it costs that nobody has said in which order the mount turns its axes, and how to settle it; "" where it is said.
func orderWords(in []OrderDoc) string {
	var known []string
	now := ""
	for _, o := range in {
		has := duration(int(math.Floor(o.FlipMin)))
		if o.NoFlip > 0 {
			has += fmt.Sprintf(" (%d of %d have none)", o.NoFlip, o.Bands)
		}
		switch o.Order {
		case rig.UnknownOrder:
			now = has
		case rig.BothAtOnce:
			known = append(known, "both at once "+has)
		case rig.RAFirst:
			known = append(known, "RA first "+has)
		case rig.DecFirst:
			known = append(known, "declination first "+has)
		}
	}
	if len(known) == 0 {
		return ""
	}
	return fmt.Sprintf("Slews: which axis turns first is unknown, so that every order must be free. In the mean a band's flip window is %s; were it known: %s. "+
		"To settle it, slew far on both axes by day, cap on, look which turns first, and write axis_order under mount.slew.", now, strings.Join(known, "; "))
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// pct writes room rounded down, costPct a cost rounded up.
func pct(percent float64) string     { return fmt.Sprintf("%.1f", math.Floor(percent*10)/10) }
func costPct(percent float64) string { return fmt.Sprintf("%.1f", zero(math.Ceil(percent*10-1e-9)/10)) }

// band writes a row's declinations.
func band(r *RowDoc) string { return angle(r.DecFromDeg, 2) + " … " + angle(r.DecToDeg, 2) }

// pastWords says where a limit lies from the meridian, past it or for side east before it: on side west the run may go on until there,
// on side east it may start from there. nil: no hour angle says it.
func pastWords(beyond *float64, side axes.Side) string {
	if beyond == nil {
		return "go by the axis angle alone"
	}
	min := int(math.Floor(*beyond + 1e-9))
	verb, past := "track until", min > 0
	if side == axes.East {
		verb, past = "start from", min < 0
	}
	switch {
	case min == 0:
		return verb + " the meridian"
	case past:
		return fmt.Sprintf("%s %s past the meridian", verb, duration(max(min, -min)))
	}
	return fmt.Sprintf("%s %s before the meridian", verb, duration(max(min, -min)))
}

// offPoleWords says what the minutes of a pair are worth with a head that is off the pole; "" for one that is on it.
func offPoleWords(d *TwoNumberDoc) string {
	if d.OffPoleDeg == 0 {
		return ""
	}
	s := fmt.Sprintf("The polar axis points %s° beside the pole, so that at each declination the axis comes to these angles at another hour angle. ",
		plain(math.Ceil(d.OffPoleDeg*100)/100, 2))
	if d.MinutesDecFromDeg == nil {
		return s + "At the pair's declinations no hour angle says where the axis is: go by its angle alone."
	}
	return s + "The minutes keep within them at declinations " + inwards(*d.MinutesDecFromDeg, *d.MinutesDecToDeg) + "; at any other go by the axis angle alone."
}

// onlyAt names the declinations that a pair of limits is for, rounded inwards; "" where these are all.
func onlyAt(fromDeg, toDeg float64) string {
	if fromDeg <= -90 && toDeg >= 90 {
		return ""
	}
	return inwards(fromDeg, toDeg)
}

// inwards writes a band of declination, rounded inwards.
func inwards(fromDeg, toDeg float64) string {
	return angle(math.Ceil(fromDeg*100-1e-6)/100, 2) + " … " + angle(math.Floor(toDeg*100+1e-6)/100, 2)
}

// onlyNote says that a pair for some declinations is no pair for the sky.
const onlyNote = "At any other declination they are not proven, and the mount keeps them wherever it points: without --declinations the answer is for the whole sky."

func (p *page) two(d TwoNumberDoc) {
	only, which := onlyAt(d.DecFromDeg, d.DecToDeg), ""
	if only != "" {
		which = " FOR DECLINATIONS " + only + " ONLY"
	}
	p.para("", "  ", fmt.Sprintf("TWO-NUMBER LIMIT%s (RA axis from counterweight-down, entry step %s°)", which, plain(d.EntryStepDeg, 6)))
	p.line("")
	west, east := entry(d.WestEntryDeg)+"°", entry(d.EastEntryDeg)+"°"
	wide := max(6, utf8.RuneCountInString(west), utf8.RuneCountInString(east))
	p.line("  west  %s   %s", padLeft(west, wide), pastWords(d.WestEntryPastMeridianMin, axes.West))
	p.line("  east  %s   %s", padLeft(east, wide), pastWords(d.EastEntryBeforeMeridianMin, axes.East))
	p.line("")
	if off := offPoleWords(&d); off != "" {
		p.para("  ", "  ", off)
	}
	if only != "" {
		p.para("  ! ", "    ", "These two numbers are for declinations "+only+" only. "+onlyNote)
	}
	if d.Safe {
		p.para("  ", "  ", provenBetween(only)+" They cost "+costPct(d.RoomCostPercent)+" % of the room that limits by declination give.")
		return
	}
	p.para("  ", "  ", "NOT SAFE BY THEMSELVES: contact inside them is not protected by these numbers. They cost "+costPct(d.RoomCostPercent)+" % of the room that limits by declination give.")
	p.islands(d.Unprotected, "not protected by these numbers")
	p.para("  ", "  ", strictWords(d))
}

// strictWords is the largest pair with nothing unprotected inside.
func strictWords(d TwoNumberDoc) string {
	s := d.Strict
	if s == nil {
		return "No pair of numbers has nothing unprotected inside: even counterweight-down is not free at every declination."
	}
	return fmt.Sprintf("With nothing unprotected inside: west %s°, east %s°, which cost %s %% of the room.", entry(s.WestEntryDeg), entry(s.EastEntryDeg),
		costPct(s.RoomCostPercent))
}

// provenBetween is what a safe pair is proven for.
func provenBetween(only string) string {
	if only != "" {
		return "At declinations " + only + " every pose above the horizon between them is proven free."
	}
	return "Every pose above the horizon between them is proven free."
}

func (p *page) islands(in []IslandDoc, words string) {
	for _, i := range in {
		p.para("    ! ", "      ", islandWords(i)+": "+words+".")
	}
}

// islandWords says where parts meet, rounded outwards.
func islandWords(i IslandDoc) string {
	return fmt.Sprintf("side %s, RA axis %s to %s, declination %s to %s: %s meets %s", i.Side,
		angle(math.Floor(i.RAFromDeg), 0), angle(math.Ceil(i.RAToDeg), 0), angle(math.Floor(i.DecFromDeg), 0), angle(math.Ceil(i.DecToDeg), 0), i.B, i.A)
}

func (p *page) mine(d LimitsDoc) {
	m := d.Mine
	only, which, even := onlyAt(m.DecFromDeg, m.DecToDeg), "", ""
	if only != "" {
		which, even = " FOR DECLINATIONS "+only+" ONLY", ", even at declinations "+only+" alone"
	}
	p.para("", "  ", fmt.Sprintf("YOUR LIMITS%s: west %s°, east %s°", which, plain(m.WestDeg, 6), plain(m.EastDeg, 6)))
	p.line("")
	best := fmt.Sprintf("They cost %s %% of the room; the pair above (west %s°, east %s°) costs %s %%.", costPct(m.RoomCostPercent),
		entry(d.TwoNumber.WestEntryDeg), entry(d.TwoNumber.EastEntryDeg), costPct(m.BestCostPercent))
	switch {
	case m.Safe && only != "":
		p.para("  ", "  ", "Safe for declinations "+only+" only: every pose above the horizon between them is proven free there. "+best)
		p.para("  ! ", "    ", onlyNote)
		return
	case m.Safe:
		p.para("  ", "  ", "Safe: every pose above the horizon between them is proven free. "+best)
		return
	}
	p.para("  ", "  ", "NOT SAFE"+even+". "+best)
	p.islands(m.Contacts, "inside your limits")
}
