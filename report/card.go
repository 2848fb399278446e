package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"legroom/axes"
	"legroom/rig"
)

// Card is one sheet of A4 to tape to the tripod: which limits to enter, what they hold for, when to flip.
type Card struct {
	Chart  *Chart
	Limits LimitsDoc // its night is printed, and the document's own date: the same card of the same night gives the same bytes
}

// maxCardRows is how many bands of declination a card holds: 5° each from pole to pole.
const maxCardRows = 36

const (
	cardLeft  = 12.0
	cardWidth = 186.0
	cardSide  = 64.0 // width of the column with the pictures
)

// WriteCard writes a card as PDF.
func WriteCard(w io.Writer, k Card) error {
	if n := len(k.Limits.ByDeclination); n > maxCardRows {
		return fmt.Errorf("a card holds %d bands of declination, not %d: make the bands higher", maxCardRows, n)
	}
	date, err := time.Parse(time.DateOnly, k.Limits.Night)
	if err != nil {
		return fmt.Errorf("a card is for one night, and %q is not its date: give year-month-day", k.Limits.Night)
	}
	c := newPDF(210, 297, k.rig().Name+": limits", date)
	k.draw(c)
	return c.writeTo(w)
}

func (k *Card) rig() *rig.Rig { return k.Chart.Model.Rig }

func (k *Card) draw(c canvas) {
	y := k.head(c, 12)
	y = k.setUp(c, y+3)
	y = k.numbers(c, y+4)
	foot := k.foot(c)
	k.table(c, box{cardLeft, y + 4, cardWidth - cardSide - 5, foot - y - 8})
	k.side(c, box{cardLeft + cardWidth - cardSide, y + 4, cardSide, foot - y - 8})
}

// head writes the rig's name, the date and the fingerprint, and returns where it ends.
func (k *Card) head(c canvas, y float64) float64 {
	name := lettering{size: 7.5, bold: true, color: ink}
	c.text(point{cardLeft, y + 6.5}, k.rig().Name, name.fitted(k.rig().Name, 132))
	right := lettering{size: 3, color: ink, align: 1}
	c.text(point{cardLeft + cardWidth, y + 2.6}, "Legroom limits, night of "+bothDays(k.Limits.Night), right)
	right.bold = true
	s := "fingerprint " + k.Limits.Fingerprint
	c.text(point{cardLeft + cardWidth, y + 7}, s, right.fitted(s, 50))
	c.stroke([]path{{{cardLeft, y + 10}, {cardLeft + cardWidth, y + 10}}}, 0.5, ink)
	return y + 10
}

// setUp draws the list that the owner ticks before the limits hold for a night.
func (k *Card) setUp(c canvas, y float64) float64 {
	list := k.rig().SetupList(k.Limits.Without)
	rows := (len(list) + 1) / 2
	wide := list[len(list)-1].Key == "place" // which says more than half a line holds
	if wide {
		rows = len(list)/2 + 1
	}
	h := 10.2 + 5.6*float64(rows)
	b := box{cardLeft, y, cardWidth, h}
	c.stroke([]path{b.outline()}, 0.5, ink)
	title, rest := "PLANNED, NOT CONFIRMED", "Tick every line at the rig; only then does this card hold, and for that night only."
	if k.Limits.Confirmed {
		title, rest = "SET-UP CONFIRMED", "for the night above alone."
	}
	big := lettering{size: 4.6, bold: true, color: ink}
	c.text(point{b.x + 3, y + 6}, title, big)
	l := lettering{size: 3, color: ink}
	c.text(point{b.x + 6 + big.width(title), y + 6}, rest, l)
	for i, item := range list {
		col, row, to := i%2, i/2, 88.0
		if wide && i == len(list)-1 {
			col, row, to = 0, rows-1, cardWidth-6
		}
		x := b.x + 3 + float64(col)*92
		at := y + 12.2 + float64(row)*5.6
		tick := box{x, at - 2.9, 3.4, 3.4}
		c.stroke([]path{tick.outline()}, 0.3, ink)
		if k.Limits.Confirmed {
			c.stroke([]path{{{tick.x + 0.6, tick.y + 1.8}, {tick.x + 1.4, tick.y + 2.7}, {tick.x + 2.9, tick.y + 0.6}}}, 0.4, ink)
		}
		name := lettering{size: 3, bold: true, color: ink}
		c.text(point{x + 5, at}, item.Name, name)
		from := x + 6.5 + name.width(item.Name)
		c.text(point{from, at}, item.Text, l.fitted(item.Text, x+to-from))
	}
	return y + h
}

// numbers draws the two-number limit, large, with what it does not protect from.
func (k *Card) numbers(c canvas, y float64) float64 {
	const h, w = 34.0, 54.0
	d := k.Limits.TwoNumber
	for i, n := range []struct {
		name string
		deg  float64
		min  *float64
		side axes.Side
	}{{"WEST LIMIT", d.WestEntryDeg, d.WestEntryPastMeridianMin, axes.West}, {"EAST LIMIT", d.EastEntryDeg, d.EastEntryBeforeMeridianMin, axes.East}} {
		b := box{cardLeft + float64(i)*(w+3), y, w, h}
		c.stroke([]path{b.outline()}, 0.7, ink)
		c.text(point{b.x + 3, y + 5.5}, n.name, lettering{size: 3.6, bold: true, color: ink})
		if !d.Safe {
			c.text(point{b.x + w - 3, y + 5.5}, "! not safe alone", lettering{size: 2.9, bold: true, color: ink, align: 1})
		}
		s := "RA axis from counterweight-down"
		c.text(point{b.x + 3, y + 29.8 - 18.6 - 2}, s, lettering{size: 2.6, color: quiet}.fitted(s, w-6))
		c.text(point{b.x + w/2, y + 23.5}, entry(n.deg)+"°", lettering{size: 15, bold: true, color: ink, align: 0.5}.fitted(entry(n.deg)+"°", w-8))
		s = pastWords(n.min, n.side)
		c.text(point{b.x + w/2, y + 30.5}, s, lettering{size: 3.6, bold: true, color: ink, align: 0.5}.fitted(s, w-5))
	}
	x := cardLeft + 2*(w+3) + 2
	t := writing{c: c, at: box{x, y, cardLeft + cardWidth - x, h}, y: y}
	if d.Safe {
		title := "SAFE between them"
		only := onlyAt(d.DecFromDeg, d.DecToDeg)
		if only != "" {
			title = "SAFE FOR DECLINATIONS " + only + " ONLY"
		}
		t.words(title, 3.6, true)
		t.words(provenBetween(only), 2.9, false)
	} else {
		t.words("NOT SAFE BY THEMSELVES", 3.6, true)
		for i, u := range d.Unprotected {
			if i == 2 && len(d.Unprotected) > 3 {
				t.words(fmt.Sprintf("and %d more places, see the picture", len(d.Unprotected)-2), 2.7, false)
				break
			}
			t.words("! "+islandWords(u)+": not protected by these numbers", 2.7, false)
		}
		t.words(strictWords(d), 2.7, true)
	}
	if off := offPoleWords(&d); off != "" {
		t.words(off, 2.7, false)
	}
	t.words(fmt.Sprintf("Against limits by declination they cost %s %% of the room.", costPct(d.RoomCostPercent)), 2.7, false)
	return math.Max(y+h, t.y)
}

// table draws the limits by declination.
func (k *Card) table(c canvas, b box) {
	heads := [4]string{"declination", "side west: stop", "side east: start", "flip window, or idle"}
	xs := [4]float64{b.x, b.x + 22, b.x + 52, b.x + 83}
	ends := [4]float64{xs[1], xs[2], xs[3], b.x + b.w}
	c.text(point{b.x, b.y + 3}, "Limits by declination, from the meridian (− before, + past)", lettering{size: 3.2, bold: true, color: ink})
	for i, s := range heads {
		c.text(point{xs[i] + 1, b.y + 8}, s, lettering{size: 2.7, bold: true, color: ink})
	}
	top := b.y + 9.5
	c.stroke([]path{{{b.x, top}, {b.x + b.w, top}}}, 0.35, ink)
	n := len(k.Limits.ByDeclination)
	if n == 0 {
		return
	}
	h := math.Min(6, (b.y+b.h-top)/float64(n))
	l := lettering{size: math.Min(3.1, h*0.72), color: ink}
	for i := range k.Limits.ByDeclination {
		// The highest declination stands at the top, as in the picture.
		row := &k.Limits.ByDeclination[n-1-i]
		y := top + float64(i)*h
		if i%2 == 1 {
			c.fill([]path{box{b.x, y, b.w, h}.outline()}, stripe)
		}
		for j, s := range [4]string{band(row), stopWords(row) + dagger(row.WestOtherH), resumeWords(row) + dagger(row.EastOtherH), flipShort(row)} {
			m := l
			m.bold = j == 3 && row.IdleMin > 0
			c.text(point{xs[j] + 1, y + h*0.5 + m.size*0.36}, s, m.fitted(s, ends[j]-xs[j]-1.5))
		}
	}
	c.stroke([]path{{{b.x, top + float64(n)*h}, {b.x + b.w, top + float64(n)*h}}}, 0.35, ink)
}

// flipShort is flipWords for a column that stands beside stop and start.
func flipShort(r *RowDoc) string {
	if r.IdleMin > 0 && len(r.FlipH) == 0 && r.CrossH != nil {
		return "idle, flip at " + signed(minutesUp(*r.CrossH))
	}
	if r.IdleMin > 0 && len(r.FlipH) == 0 {
		return "idle " + idleWords(r) + " *"
	}
	return flipWords(r)
}

// idleAdvice says what to do in the rows without a flip window, by what their last column says: only the flip that a row names is
// proven, and not before; side east's start is where its pose is free, not the way there.
func idleAdvice(rows []RowDoc) []string {
	var proven, not bool
	for i := range rows {
		if r := &rows[i]; len(r.FlipH) == 0 {
			proven, not = proven || r.CrossH != nil, not || r.CrossH == nil && r.IdleMin > 0
		}
	}
	var out []string
	if proven {
		out = append(out, "Where it says flip at: stop at the west side's time, and begin the flip at the time after those words, not before. "+
			"From side east's start its own pose is free, the flip to it is not proven yet.")
	}
	if not {
		out = append(out, "Where it says idle with a star: stop at the west side's time, and be on the east side at its start at the earliest.")
	}
	return out
}

// side draws the pictures, their legend, and the advice.
func (k *Card) side(c canvas, b box) {
	const u = 2.1
	p := k.Chart
	top := p.top()
	panel := box{b.x + 7.5, b.y + 7, b.w - 9.5, 36}
	p.panel(c, panel, p.West, u, top)
	panel.y += panel.h + 15.5
	p.panel(c, panel, p.East, u, top)
	y := panel.y + panel.h + 8.5
	y += p.legend(c, box{b.x, y, b.w, 0}, u, top) + 1.5
	t := writing{c: c, at: box{b.x, y, b.w, b.y + b.h - y}, y: y}
	t.words("Flip", 3.2, true)
	t.words("Begin a flip only inside the window of the table.", 2.6, false)
	for _, s := range idleAdvice(k.Limits.ByDeclination) {
		t.words(s, 2.6, false)
	}
	if unprovenWay(k.Limits.ByDeclination) {
		t.words(starNote, 2.6, false)
	}
	if slices.ContainsFunc(k.Limits.ByDeclination, func(r RowDoc) bool { return dagger(r.WestOtherH)+dagger(r.EastOtherH) != "" }) {
		t.words(daggerNote, 2.6, false)
	}
	if e := k.rig().Mount.Rules.EarliestFlipMin; e != nil {
		t.words("The mount's own earliest flip: "+signed(int(math.Floor(*e)))+" from the meridian.", 2.6, false)
	}
}

// foot writes what the card holds for and the cautions, and returns where it begins.
func (k *Card) foot(c canvas) float64 {
	words := []string{
		upperFirst(basisWords(k.Limits.Basis)) + ". These limits belong to this mount with this tube, set up as listed above. Changed anything? Print a new card.",
		cautions + " A motor drive can pinch and crush; counterweights and tubes fall; a tall support tips. Never sweep an uncovered tube near the Sun. Mains outdoors, footings and roofs follow local codes and licensed practice.",
	}
	if u := unmeasured(k.Limits.Unmeasured); u != "" {
		words = append([]string{u + "."}, words...)
	}
	if e := checkErrors(k.Limits.CheckErrors); e != "" {
		words = append([]string{e + "."}, words...)
	}
	strong := len(words) - 2 // what is above the two
	measure := writing{at: box{w: cardWidth}}
	for i, s := range words {
		measure.words(s, 2.7, i < strong)
	}
	y := 287 - measure.y
	c.stroke([]path{{{cardLeft, y - 1}, {cardLeft + cardWidth, y - 1}}}, 0.3, ink)
	t := writing{c: c, at: box{cardLeft, y, cardWidth, measure.y}, y: y}
	for i, s := range words {
		t.words(s, 2.7, i < strong)
	}
	return y - 2
}

// writing sets paragraphs one below the other; without a canvas it only measures.
type writing struct {
	c  canvas
	at box
	y  float64 // where the next begins
}

func (t *writing) words(s string, size float64, bold bool) {
	l := lettering{size: size, bold: bold, color: ink}
	flush := func(line string) {
		t.y += size * 1.25
		if t.c != nil {
			t.c.text(point{t.at.x, t.y - size*0.25}, line, l)
		}
	}
	cur := ""
	for _, w := range strings.Fields(s) {
		next := strings.TrimSpace(cur + " " + w)
		if cur != "" && l.width(next) > t.at.w {
			flush(cur)
			next = w
		}
		cur = next
	}
	flush(cur)
	t.y += size * 0.35
}
