package sky

import (
	"bytes"
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"legroom/rig"
)

const (
	maxTargetBytes  = 1 << 20 // of one list
	maxTargets      = 1000    // of one list
	maxTargetErrors = 20      // that one list reports
)

// LoadTargets reads a list of targets from a file: YAML when its name ends in .yaml or .yml, CSV when it ends in .csv. A
// list that is not right gives rig.Errors, one line a defect.
func LoadTargets(path string) ([]Target, error) {
	unreadable := func(err error) error {
		return rig.Errors{{Pos: rig.Position{File: path}, Problem: "the file cannot be read: " + err.Error(), Remedy: "name a list of targets that ends in .yaml or .csv"}}
	}
	data, err := rig.ReadFile(path, maxTargetBytes)
	if err != nil {
		return nil, unreadable(err)
	}
	return ParseTargets(data, path)
}

// ParseTargets reads a list of targets from memory; the ending of the path's name says whether it is YAML or CSV, and
// messages name the path.
//
// In YAML it is a list, or a mapping with the one key targets that holds the list; each entry is the name of a built-in
// object, or a mapping. In CSV the first line names the keys, in any order; lines that are empty or begin with # are
// skipped, a field in double quotes may hold commas, and a field with nothing in it counts as not there. The keys:
//
//	name           wanted; without ra and dec it must be a built-in object
//	ra             05h35m17s, 5:35:17.3 or 5 35 17 in hours; a plain number, or 83°49'19", in degrees
//	ra_h, ra_deg   instead of ra: hours, degrees
//	dec, dec_deg   -05°23'28", -5:23:28, −5 23 28 or degrees
//	priority       1 (first) to 100
//	sub_s          length of a sub-exposure
//	filters        a list of words; in CSV divided by semicolons
//	wanted_h       total exposure
//	extent_deg     how far dither or a mosaic takes the pointing away from the place
//	pm_ra_mas_yr, pm_dec_mas_yr   proper motion, the first with cos δ in it
//	epoch          year of the place, for the proper motion; 2000 when absent
//
// Places are J2000 (ICRS).
func ParseTargets(data []byte, path string) ([]Target, error) {
	defect := func(problem, remedy string) error {
		return rig.Errors{{Pos: rig.Position{File: path}, Problem: problem, Remedy: remedy}}
	}
	if len(data) > maxTargetBytes {
		return nil, defect("the file is larger than 1 MiB", "a list of targets is a few kilobytes of text")
	}
	if !utf8.Valid(data) {
		return nil, defect("the file is not UTF-8 text", "save it as UTF-8")
	}
	text := strings.ReplaceAll(string(bytes.TrimPrefix(data, []byte("\ufeff"))), "\r\n", "\n")
	d := &targetDecoder{}
	var entries []targetEntry
	switch strings.ToLower(filepath.Ext(path)) {
	case ".csv":
		entries = d.csv(text, path)
	case ".yaml", ".yml":
		entries = d.yaml(text, path)
	default:
		return nil, defect("the file's name says neither YAML nor CSV", "name a list that ends in .yaml or .csv")
	}
	if len(entries) > maxTargets {
		d.fail(entries[maxTargets].at, "", fmt.Sprintf("the list has %d targets", len(entries)), fmt.Sprintf("write at most %d in one list", maxTargets))
		entries = nil
	}
	out := d.targets(entries)
	if len(out) == 0 && len(d.errs) == 0 {
		return nil, defect("the list holds no target", "write one such as `- M 42` (YAML), or a line `name` and a line `M 42` (CSV)")
	}
	if len(d.errs) > 0 {
		slices.SortStableFunc(d.errs, func(a, b *rig.Error) int {
			return cmp.Or(cmp.Compare(a.Pos.Line, b.Pos.Line), cmp.Compare(a.Pos.Col, b.Pos.Col))
		})
		return nil, d.errs[:min(len(d.errs), maxTargetErrors)]
	}
	return out, nil
}

// csv reads the rows of a CSV text.
func (d *targetDecoder) csv(text, file string) (entries []targetEntry) {
	var keys []targetCell
	for i, line := range strings.Split(text, "\n") {
		if len(entries)+len(d.errs) > maxTargetLines {
			return entries // far too many already
		}
		if s := strings.TrimSpace(line); s == "" || s[0] == '#' {
			continue
		}
		at := rig.Position{File: file, Line: i + 1, Col: 1}
		fields := d.csvFields(line, at)
		switch {
		case fields == nil:
			if keys == nil {
				return nil // without a header no row can be read
			}
		case keys == nil:
			if keys = d.csvHeader(fields); keys == nil {
				return nil
			}
		case len(fields) != len(keys) && len(fields) != 1:
			d.fail(at, "", fmt.Sprintf("the line has %d fields, but the first line names %d", len(fields), len(keys)), "write as many, with nothing between two commas for what is not known; put a text with a comma in double quotes")
		default:
			e := targetEntry{at: at}
			for j, f := range fields {
				k := keys[j]
				if len(fields) == 1 {
					k.key = "name"
				}
				if f.text != "" {
					e.cells = append(e.cells, targetCell{key: k.key, text: f.text, at: f.at, keyAt: f.at})
				}
			}
			entries = append(entries, e)
		}
	}
	return entries
}

// csvHeader checks the first line; nil when it is not right.
func (d *targetDecoder) csvHeader(fields []targetCell) []targetCell {
	before := len(d.errs)
	for i := range fields {
		f := &fields[i]
		f.key = f.text
		switch {
		case len(fields) == 1 && strings.ContainsAny(f.text, ";\t"):
			d.fail(f.at, "", "the fields are not divided by commas", "write commas: name,ra,dec")
		case !slices.Contains(targetKeys, f.key):
			d.unknownKey(f.key, f.at, "first line")
		case slices.ContainsFunc(fields[:i], func(g targetCell) bool { return g.key == f.key }):
			d.fail(f.at, "first line", fmt.Sprintf("%q is here for the second time", f.key), "keep one of the two")
		}
	}
	if len(d.errs) == before && !slices.ContainsFunc(fields, func(f targetCell) bool { return f.key == "name" }) {
		d.fail(fields[0].at, "first line", "name is missing", "begin with a line that names the keys, such as name,ra,dec,priority")
	}
	if len(d.errs) > before {
		return nil
	}
	return fields
}

// csvFields splits one line; nil when it cannot be split. A quote inside a field that does not begin with one is a letter,
// since it is the mark of arc seconds.
func (d *targetDecoder) csvFields(line string, at rig.Position) (fields []targetCell) {
	rest := line
	for {
		trimmed := strings.TrimLeft(rest, " \t")
		at.Col = utf8.RuneCountInString(line[:len(line)-len(trimmed)]) + 1
		f := targetCell{at: at}
		if quoted, ok := strings.CutPrefix(trimmed, `"`); ok {
			var b strings.Builder
			for {
				before, after, closed := strings.Cut(quoted, `"`)
				b.WriteString(before)
				if !closed {
					d.fail(at, "", "a double quote is opened and not closed in this line", "close it; write \"\" for a quote inside")
					return nil
				}
				if quoted, ok = strings.CutPrefix(after, `"`); !ok {
					rest = strings.TrimLeft(after, " \t")
					break
				}
				b.WriteByte('"')
			}
			f.text = strings.TrimSpace(b.String())
			if rest != "" && rest[0] != ',' {
				at.Col = utf8.RuneCountInString(line[:len(line)-len(rest)]) + 1
				d.fail(at, "", "there is text behind the closing quote", "put the whole field in quotes; write \"\" for a quote inside")
				return nil
			}
		} else {
			before, _, _ := strings.Cut(trimmed, ",")
			f.text, rest = strings.TrimSpace(before), trimmed[len(before):]
		}
		fields = append(fields, f)
		if rest == "" {
			return fields
		}
		rest = rest[1:]
	}
}
