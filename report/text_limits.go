package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"legroom/axes"
	"legroom/rig"
	"legroom/room"
)

// WriteLimits writes limits as text of at most 100 columns. mine may be nil.
func WriteLimits(w io.Writer, r *rig.Rig, l *room.Limits, mine *room.Mine, isConfirmed bool) error {
	p := &page{}
	p.line("%s", r.Name)
	if isConfirmed {
		p.line("%s", confirmed)
	} else {
		p.para("", "", planned)
	}
	basis := Basis{Fingerprint: l.Fingerprint, MarginMM: l.MarginMM, Mode: l.Mode, ToleranceMM: l.ToleranceMM}
	p.para("", "", upperFirst(basisWords(basis))+". Fingerprint "+l.Fingerprint+".")
	if u := unmeasured(l.Unmeasured); u != "" {
		p.para("", "  ", u)
	}
	p.line("")
	twoNumberText(p, r, l.Two)
	p.line("")
	if mine != nil {
		mineText(p, r, mine)
		p.line("")
	}
	p.line("LIMITS BY DECLINATION (minutes from the meridian: − before, + past)")
	p.line("")
	p.line("  %s  %s  %s  %s", pad("declination", 12), pad("side west: stop", 23), pad("side east: start", 23), "flip window, or idle")
	for i := range l.Rows {
		row := &l.Rows[i]
		first := fmt.Sprintf("  %s  %s  %s  ", pad(band(row), 12), pad(stopWords(row), 23), pad(resumeWords(row), 23))
		p.para(first, strings.Repeat(" ", utf8.RuneCountInString(first)), flipWords(row))
	}
	p.line("")
	p.line("  Room above the horizon: side west %s %%, side east %s %%, either %s %%.", pct(l.Room.West), pct(l.Room.East), pct(l.Room.Either))
	p.line("")
	p.para("", "", cautions)
	return p.writeTo(w)
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func pct(share float64) string { return fmt.Sprintf("%.1f", math.Floor(share*1000)/10) }

// costPct rounds a cost up.
func costPct(share float64) string { return fmt.Sprintf("%.1f", math.Ceil(share*1000-1e-9)/10) }

// band writes a row's declinations.
func band(r *room.Row) string {
	return angle(axes.Deg(r.DecFrom), 2) + " … " + angle(axes.Deg(r.DecTo), 2)
}

// pastWords says where a limit of an aligned head lies from the meridian: on side west the run may go on past it, on
// side east it may start before it.
func pastWords(deg float64, side axes.Side) string {
	min := math.Floor(pastLevel(deg) + 1e-9)
	after := (side == axes.West) == (min >= 0)
	verb, where := "track until", "before"
	if side == axes.East {
		verb = "start from"
	}
	if after {
		where = "past"
	}
	if min == 0 {
		return verb + " the meridian"
	}
	return fmt.Sprintf("%s %s %s the meridian", verb, duration(int(math.Abs(min))), where)
}

func twoNumberText(p *page, r *rig.Rig, t room.TwoNumber) {
	step := r.Mount.EntryStepDeg
	d := twoNumber(t, step)
	p.line("TWO-NUMBER LIMIT (RA axis from counterweight-down, entry step %s°)", plain(d.EntryStepDeg, 3))
	p.line("")
	p.line("  west  %s   %s", padLeft(plain(d.WestEntryDeg, 3)+"°", 6), pastWords(d.WestEntryDeg, axes.West))
	p.line("  east  %s   %s", padLeft(plain(d.EastEntryDeg, 3)+"°", 6), pastWords(d.EastEntryDeg, axes.East))
	p.line("")
	if t.Safe {
		p.para("  ", "  ", "Every pose above the horizon between them is proven free. They cost "+costPct(t.RoomCost)+" % of the room that limits by declination give.")
		return
	}
	p.para("  ", "  ", "NOT SAFE BY THEMSELVES: contact inside them is not protected by these numbers. They cost "+costPct(t.RoomCost)+" % of the room that limits by declination give.")
	islandText(p, t.Unprotected, "not protected by these numbers")
	p.para("  ", "  ", fmt.Sprintf("With nothing unprotected inside: west %s°, east %s°, which cost %s %% of the room.",
		plain(d.Strict.WestEntryDeg, 3), plain(d.Strict.EastEntryDeg, 3), costPct(t.StrictRoomCost)))
}

func islandText(p *page, in []room.Island, words string) {
	for _, i := range in {
		p.para("    ! ", "      ", islandWords(i)+": "+words+".")
	}
}

func islandWords(i room.Island) string {
	return fmt.Sprintf("side %s, RA axis %s to %s, declination %s to %s: %s meets %s", i.Side,
		angle(math.Floor(axes.Deg(i.RAFrom)), 0), angle(math.Ceil(axes.Deg(i.RATo)), 0),
		angle(math.Floor(axes.Deg(i.DecFrom)), 0), angle(math.Ceil(axes.Deg(i.DecTo)), 0), i.B, i.A)
}

func mineText(p *page, r *rig.Rig, m *room.Mine) {
	p.line("YOUR LIMITS: west %s°, east %s°", plain(axes.Deg(m.West), 3), plain(axes.Deg(m.East), 3))
	p.line("")
	step := r.Mount.EntryStepDeg
	best := fmt.Sprintf("They cost %s %% of the room; the pair above (west %s°, east %s°) costs %s %%.", costPct(m.RoomCost),
		plain(entry(m.Best.West, step), 3), plain(entry(m.Best.East, step), 3), costPct(m.Best.RoomCost))
	if m.Safe {
		p.para("  ", "  ", "Safe: every pose above the horizon between them is proven free. "+best)
		return
	}
	p.para("  ", "  ", "NOT SAFE. "+best)
	islandText(p, m.Contacts, "inside your limits")
}
