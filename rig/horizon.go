package rig

import (
	"cmp"
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// horizon decodes a list of azimuth, altitude pairs or the name of a text file of them.
func (d *decoder) horizon(n *node, path string) Horizon {
	if n.kind == scalar {
		data, problem, remedy := d.files.read(n.text)
		if problem != "" {
			d.fail(n.start, path, problem, remedy)
			return nil
		}
		h, errs := parseHorizon(string(data), filepath.Join(d.files.dir, filepath.FromSlash(n.text)))
		for _, e := range errs {
			e.Path = path
		}
		d.errs = append(d.errs, errs...)
		return h
	}
	if n.kind != list {
		d.fail(n.at, path, "it is "+n.kind.String()+", but a list of pairs or the name of a text file is expected", "write [[0, 5], [90, 12.5]] or horizon.txt")
		return nil
	}
	var h Horizon
	f := &field{min: -1e9, max: 1e9}
	for i, item := range n.items {
		p := fmt.Sprintf("%s[%d]", path, i)
		if item.kind != list || len(item.items) != 2 {
			d.fail(item.at, p, "it is not a pair", "write azimuth and altitude in degrees, such as [90, 12.5]")
			continue
		}
		before := len(d.errs)
		var xy [2]float64
		d.list(item, reflect.ValueOf(&xy).Elem(), f, p)
		if len(d.errs) > before {
			continue
		}
		if problem, remedy := offHorizon(xy); problem != "" {
			d.fail(item.at, p, problem, remedy)
			continue
		}
		h = append(h, xy)
	}
	h, problem := closed(h)
	if problem != "" {
		d.fail(n.at, path, problem, "keep one of the two")
	}
	return h
}

// parseHorizon reads horizon text: one `azimuth altitude` pair in degrees a line, from north through east, with #
// comments; the order of the lines is free.
func parseHorizon(text, file string) (Horizon, Errors) {
	var h Horizon
	var errs Errors
	fail := func(line int, problem, remedy string) {
		if len(errs) < maxErrors { // a file of nothing else would fill the memory
			errs = append(errs, &Error{Pos: Position{File: file, Line: line, Col: 1}, Problem: problem, Remedy: remedy})
		}
	}
	for i, line := range strings.Split(strings.TrimPrefix(text, "\ufeff"), "\n") {
		line, _, _ = strings.Cut(line, "#")
		words := strings.Fields(line)
		if len(words) == 0 {
			continue
		}
		var xy [2]float64
		ok := len(words) == 2
		for j := range min(2, len(words)) {
			v, err := strconv.ParseFloat(words[j], 64)
			xy[j] = v
			ok = ok && err == nil && numberForm.MatchString(words[j])
		}
		if !ok {
			fail(i+1, fmt.Sprintf("%q is not a pair of numbers", clip(strings.TrimSpace(line))), "write azimuth and altitude in degrees with a space between, such as `90 12.5`")
			continue
		}
		if problem, remedy := offHorizon(xy); problem != "" {
			fail(i+1, problem, remedy)
			continue
		}
		if h = append(h, xy); len(h) > maxItems {
			fail(i+1, fmt.Sprintf("there are more than %d points", maxItems), "one a degree is plenty")
			return nil, errs
		}
	}
	if len(h) == 0 && errs == nil {
		fail(1, "there is no point in it", "write azimuth and altitude in degrees with a space between, such as `90 12.5`")
	}
	h, problem := closed(h)
	if problem != "" {
		fail(1, problem, "keep one of the two")
	}
	return h, errs
}

func offHorizon(xy [2]float64) (problem, remedy string) {
	switch {
	case !(xy[0] >= 0 && xy[0] <= 360):
		return fmt.Sprintf("the azimuth %s is not on the compass", format(xy[0])), "write 0 to 360, clockwise from true north"
	case !(xy[1] >= -90 && xy[1] <= 90):
		return fmt.Sprintf("the altitude %s is not possible", format(xy[1])), "write -90 to 90 degrees above the horizontal"
	}
	return "", ""
}

// closed sorts the points by azimuth, with 360 as 0, and says when two points at one azimuth disagree.
func closed(h Horizon) (Horizon, string) {
	for i := range h {
		if h[i][0] == 360 {
			h[i][0] = 0
		}
	}
	slices.SortStableFunc(h, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
	h = slices.Compact(h)
	for i := 1; i < len(h); i++ {
		if h[i][0] == h[i-1][0] {
			return h, fmt.Sprintf("azimuth %s has two altitudes, %s and %s (360 is 0)", format(h[i][0]), format(h[i-1][1]), format(h[i][1]))
		}
	}
	return h, ""
}
