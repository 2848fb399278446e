package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"legroom/axes"
)

// WriteMap writes a map as letters, a column each 18 minutes of hour angle and a line each five degrees of declination, or each step of
// a coarser grid: the worst of the grid's points in each field, so that a letter never says more than is proven. A field is left
// blank where all of its points are below the site's horizon by a step of the grid at least, and a line that has nothing else is
// left out. At most 100 columns.
func WriteMap(w io.Writer, m *axes.Model, d MapDoc) error {
	p := &page{}
	p.line("%s", d.Rig)
	p.para("", "", upperFirst(basisWords(d.Basis))+". Fingerprint "+d.Fingerprint+fmt.Sprintf(". Cells of %s° and larger, %.2f %% undecided.", plain(d.CellDeg, 3), d.EdgePercent))
	p.line("")
	p.line("  . free    # not free    ? undecided, counts as not free    - outside the axes' travel")
	p.line("  blank: below the horizon; declinations that never rise are left out")
	for i := range d.Sides {
		g := &d.Sides[i]
		p.line("")
		p.line("SIDE %s: declination by hour angle, −12 h to +12 h; | is the meridian", strings.ToUpper(g.Side))
		rows := g.letters(m)
		for at, r := range slices.Backward(rows) {
			if strings.TrimSpace(string(r)) != "" {
				p.line("  %s %s|%s", padLeft(angle(180*float64(at)/float64(len(rows))-90, 0), 5), r[:len(r)/2], r[len(r)/2:])
			}
		}
	}
	return p.writeTo(w)
}

// letters gives the lines of letters, the southernmost first: as many fields as there are points for, and 80 by 36 at most.
func (g *GridDoc) letters(m *axes.Model) [][]byte {
	across, down := min(80, len(g.HourAngleH)&^1), min(36, len(g.DecDeg))
	step := math.Pi / float64(len(g.DecDeg))
	rows, up := make([][]byte, down), make([][]bool, down)
	for at := range rows {
		rows[at], up[at] = []byte(strings.Repeat(" ", across)), make([]bool, across)
	}
	for j, dec := range g.DecDeg {
		at := min(int((dec+90)/180*float64(down)), down-1)
		for i, h := range g.HourAngleH {
			k := min(int((h+12)/24*float64(across)), across-1)
			if c := letter(g.State[j][i]); strings.IndexByte(worseLetters, c) > strings.IndexByte(worseLetters, rows[at][k]) {
				rows[at][k] = c
			}
			up[at][k] = up[at][k] || aboveHorizon(m, axes.FromHours(h), axes.Rad(dec)) > -step
		}
	}
	for at, row := range rows {
		for k := range row {
			if !up[at][k] {
				row[k] = ' '
			}
		}
	}
	return rows
}

// worseLetters from the best to the worst.
const worseLetters = " .?-#"

func letter(state byte) byte {
	switch state {
	case 'f':
		return '.'
	case 'b':
		return '#'
	case 't':
		return '-'
	}
	return '?'
}
