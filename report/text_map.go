package report

import (
	"fmt"
	"io"
	"math"
	"strings"
)

// WriteMap writes a map as letters, a column each quarter of an hour of hour angle and a line each five degrees of declination: the
// worst of the grid's points in each field, so that a letter never says more than is proven. At most 100 columns, horizon
// not considered.
func WriteMap(w io.Writer, d MapDoc) error {
	p := &page{}
	p.line("%s", d.Rig)
	p.para("", "", upperFirst(basisWords(d.Basis))+". Fingerprint "+d.Fingerprint+fmt.Sprintf(". Cells of %s° and larger, %.2f %% undecided.", plain(d.CellDeg, 3), d.EdgePercent))
	p.line("")
	p.line("  . free    # not free    ? undecided, counts as not free    - outside the axes' travel")
	const across, height = 80, 5.0
	for _, g := range d.Sides {
		p.line("")
		p.line("SIDE %s: declination by hour angle, −12 h to +12 h; | is the meridian", strings.ToUpper(g.Side))
		rows := map[int][]byte{}
		for j, dec := range g.DecDeg {
			at := int(math.Floor(dec / height))
			if rows[at] == nil {
				rows[at] = []byte(strings.Repeat(" ", across))
			}
			for i, h := range g.HourAngleH {
				k := min(int((h+12)/24*across), across-1)
				if c := letter(g.State[j][i]); strings.IndexByte(worseLetters, c) > strings.IndexByte(worseLetters, rows[at][k]) {
					rows[at][k] = c
				}
			}
		}
		for at := int(90/height) - 1; at >= -int(90/height); at-- {
			if r := rows[at]; r != nil {
				p.line("  %s %s|%s", padLeft(angle(float64(at)*height, 0), 5), r[:across/2], r[across/2:])
			}
		}
	}
	return p.writeTo(w)
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
