package sky

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"legroom/axes"
	"legroom/rig"
)

// targetEntry is one target as a list has it, before its values are read: a mapping of YAML or a row of CSV.
type targetEntry struct {
	at    rig.Position
	cells []targetCell
}

// targetCell is one key with its value. Filters may be a list of words; all else is one text.
type targetCell struct {
	key       string
	text      string
	words     []targetCell // when list
	list      bool
	at, keyAt rig.Position
}

// targetKeys are the keys of a target, in the order in which messages name them.
var targetKeys = []string{"name", "ra", "ra_h", "ra_deg", "dec", "dec_deg", "priority", "sub_s", "filters", "wanted_h", "extent_deg", "pm_ra_mas_yr", "pm_dec_mas_yr", "epoch"}

// targetRange is what a number of a target may be.
type targetRange struct {
	min, max float64
	above    bool // min itself is not allowed
	example  string
}

var targetRanges = map[string]targetRange{
	"sub_s":         {0, 7200, true, "seconds such as 300"},
	"wanted_h":      {0, 1000, true, "hours such as 8"},
	"extent_deg":    {0, 20, false, "degrees such as 0.5"},
	"pm_ra_mas_yr":  {-20000, 20000, false, "milliarcseconds a year such as -12.5"},
	"pm_dec_mas_yr": {-20000, 20000, false, "milliarcseconds a year such as -12.5"},
	"epoch":         {1850, 2150, false, "the year of the place, such as 2016"},
}

const maxPriority = 100

// targetDecoder turns entries into targets and gathers every defect on the way.
type targetDecoder struct {
	errs rig.Errors
}

func (d *targetDecoder) fail(at rig.Position, path, problem, remedy string) {
	d.errs = append(d.errs, &rig.Error{Pos: at, Path: path, Problem: problem, Remedy: remedy})
}

// targets reads every entry; names must differ.
func (d *targetDecoder) targets(entries []targetEntry) []Target {
	out := make([]Target, 0, len(entries))
	lines := map[string]int{}
	for i, e := range entries {
		path := fmt.Sprintf("targets[%d]", i)
		before := len(d.errs)
		t := d.target(e, path)
		if len(d.errs) > before {
			continue
		}
		key := strings.ToLower(t.Name)
		if first, twice := lines[key]; twice {
			d.fail(t.Pos, path, fmt.Sprintf("%q is here for the second time, first in line %d", targetClip(t.Name), first), "keep one of the two, or give them different names")
			continue
		}
		lines[key] = t.Pos.Line
		out = append(out, *t)
	}
	return out
}

// target reads one entry; what it gives is whole only when no defect was added.
func (d *targetDecoder) target(e targetEntry, path string) *Target {
	t := &Target{Pos: e.at}
	got := map[string]targetCell{}
	for _, c := range e.cells {
		if !slices.Contains(targetKeys, c.key) {
			d.unknownKey(c.key, c.keyAt, path)
			continue
		}
		got[c.key] = c
		if c.list && c.key != "filters" {
			d.fail(c.at, path+"."+c.key, "it is a list, but a single value is expected", "write one value")
			return t
		}
	}
	name, named := got["name"]
	if !named {
		d.fail(e.at, path, "name is missing", "write one such as `name: M 42`")
		return t
	}
	t.Name = d.word(name, path+".name", 80)
	d.place(t, got, e.at, path)
	if c, ok := got["priority"]; ok {
		n, err := strconv.Atoi(c.text)
		if err != nil || n < 1 || n > maxPriority {
			d.fail(c.at, path+".priority", fmt.Sprintf("%q is not a priority", targetClip(c.text)), fmt.Sprintf("write a whole number from 1 (first) to %d", maxPriority))
		}
		t.Priority = n
	}
	t.Sub = time.Duration(d.number(got, "sub_s", path) * float64(time.Second))
	t.Wanted = time.Duration(d.number(got, "wanted_h", path) * float64(time.Hour))
	t.Extent = axes.Rad(d.number(got, "extent_deg", path))
	d.filters(t, got, path)
	d.motion(t, got, path)
	return t
}

// unknownKey reports a key that a target does not have.
func (d *targetDecoder) unknownKey(key string, at rig.Position, path string) {
	remedy, least := "its keys are "+strings.Join(targetKeys, ", "), 1+max(2, len(key)/3)
	for _, k := range targetKeys {
		if dist := letterDistance(strings.ToLower(key), k); dist < least && dist < len(k) {
			remedy, least = "did you mean "+k+"?", dist
		}
	}
	d.fail(at, path, fmt.Sprintf("%q is not a key of a target", targetClip(key)), remedy)
}

// word reads a text on one line.
func (d *targetDecoder) word(c targetCell, path string, most int) string {
	s := strings.TrimSpace(c.text)
	switch {
	case s == "":
		d.fail(c.at, path, "it has no value", "write a name")
	case strings.IndexFunc(s, unicode.IsControl) >= 0:
		d.fail(c.at, path, "the text holds a line break or a control character", "write it on one line")
	case !utf8.ValidString(s):
		d.fail(c.at, path, "the text is not UTF-8", "save it as UTF-8")
	case utf8.RuneCountInString(s) > most:
		d.fail(c.at, path, fmt.Sprintf("the text is longer than %d letters", most), "write a shorter one")
	}
	return s
}

// place reads right ascension and declination, or takes both from the built-in list when neither is written.
func (d *targetDecoder) place(t *Target, got map[string]targetCell, at rig.Position, path string) {
	ra, raOK := d.oneOf(got, path, "ra", "ra_h", "ra_deg")
	dec, decOK := d.oneOf(got, path, "dec", "dec_deg")
	known, err := Find(t.Name)
	switch {
	case !raOK && !decOK:
		if t.Name == "" {
			return // reported already
		}
		if err != nil {
			problem, remedy, _ := strings.Cut(err.Error(), "; ")
			d.fail(got["name"].at, path, problem, remedy)
			return
		}
		t.Place, t.Object = known.Place, &known
		if known.FromMemory {
			t.Notes = append(t.Notes, fmt.Sprintf("the place of %s is the built-in list's, which was written from memory", known.Designation))
		}
		return
	case !raOK || !decOK:
		missing, example := "dec", "dec: -05°23'28\""
		if decOK {
			missing, example = "ra", "ra: 05h35m17s"
		}
		d.fail(at, path, missing+" is missing", "add it, such as `"+example+"`")
		return
	}
	raDeg, problem, remedy := parseRA(ra.text, ra.key)
	if problem != "" {
		d.fail(ra.at, path+"."+ra.key, problem, remedy)
		return
	}
	decDeg, problem, remedy := parseDec(dec.text, dec.key)
	if problem != "" {
		d.fail(dec.at, path+"."+dec.key, problem, remedy)
		return
	}
	t.Place = J2000{RA: axes.Rad(raDeg), Dec: axes.Rad(decDeg)}
	if ra.key == "ra" && raDeg < 24 {
		if a, _ := parseSexagesimal(ra.text); a.fields == 1 && a.unit == 0 {
			t.Notes = append(t.Notes, fmt.Sprintf("ra %s was read as degrees; if it is hours, write %sh or use the key ra_h", strings.TrimSpace(ra.text), strings.TrimSpace(ra.text)))
		}
	}
	if err == nil {
		// Half a degree beyond the object's edge no framing of it is left.
		sep := axes.Deg(Separation(Equatorial{t.Place.RA, t.Place.Dec}, Equatorial{known.Place.RA, known.Place.Dec}))
		if sep > 0.5+known.SizeArcmin[0]/60/2 {
			t.Notes = append(t.Notes, fmt.Sprintf("the written place is %.1f° away from the built-in place of %s: check ra and dec", sep, known))
		}
	}
}

// oneOf gives the one of several keys that is there; two of them are a defect.
func (d *targetDecoder) oneOf(got map[string]targetCell, path string, keys ...string) (found targetCell, ok bool) {
	for _, k := range keys {
		c, there := got[k]
		if there && ok {
			d.fail(c.keyAt, path+"."+k, "it is given by "+found.key+" too", "keep one of the two")
		}
		if there {
			found, ok = c, true
		}
	}
	return found, ok
}

// number reads a number by its range; 0 when it is not there.
func (d *targetDecoder) number(got map[string]targetCell, key, path string) float64 {
	c, ok := got[key]
	if !ok {
		return 0
	}
	r := targetRanges[key]
	text := strings.TrimSpace(strings.Replace(strings.Replace(c.text, "−", "-", 1), "–", "-", 1))
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || strings.ContainsAny(text, "xXpP_nN") { // ParseFloat reads 0x10, 1_000, Inf and NaN too
		d.fail(c.at, path+"."+key, fmt.Sprintf("%q is not a number", targetClip(c.text)), "write "+r.example)
		return 0
	}
	if x < r.min || x > r.max || r.above && x == r.min {
		from := "from "
		if r.above {
			from = "above "
		}
		d.fail(c.at, path+"."+key, fmt.Sprintf("%s is not possible here", targetClip(text)), fmt.Sprintf("write %s, %s%g and up to %g", r.example, from, r.min, r.max))
		return 0
	}
	return x
}

// filters reads a list of words, or one text that semicolons divide.
func (d *targetDecoder) filters(t *Target, got map[string]targetCell, path string) {
	c, ok := got["filters"]
	if !ok {
		return
	}
	words := c.words
	if !c.list {
		for _, w := range strings.Split(c.text, ";") {
			words = append(words, targetCell{text: w, at: c.at})
		}
	}
	if len(words) == 0 || len(words) > 20 {
		d.fail(c.at, path+".filters", fmt.Sprintf("it has %d filters", len(words)), "write 1 to 20, or remove the key")
		return
	}
	for _, w := range words {
		f := d.word(w, path+".filters", 30)
		if slices.Contains(t.Filters, f) && f != "" {
			d.fail(w.at, path+".filters", fmt.Sprintf("%q is here for the second time", targetClip(f)), "keep one of the two")
		}
		t.Filters = append(t.Filters, f)
	}
}

// motion reads the proper motion; both parts belong together, and the epoch to them.
func (d *targetDecoder) motion(t *Target, got map[string]targetCell, path string) {
	ra, raOK := got["pm_ra_mas_yr"]
	dec, decOK := got["pm_dec_mas_yr"]
	epoch, epochOK := got["epoch"]
	switch {
	case !raOK && !decOK && epochOK:
		d.fail(epoch.keyAt, path+".epoch", "there is an epoch without a proper motion", "ra and dec are always J2000; write pm_ra_mas_yr and pm_dec_mas_yr too, or remove epoch")
	case raOK && !decOK:
		d.fail(ra.keyAt, path, "pm_dec_mas_yr is missing", "write both parts of the proper motion")
	case decOK && !raOK:
		d.fail(dec.keyAt, path, "pm_ra_mas_yr is missing", "write both parts of the proper motion (μα·cos δ)")
	case raOK:
		t.Place.PMRA = axes.Rad(d.number(got, "pm_ra_mas_yr", path) / 3600e3)
		t.Place.PMDec = axes.Rad(d.number(got, "pm_dec_mas_yr", path) / 3600e3)
		if epochOK {
			t.Place = t.Place.atJ2000(d.number(got, "epoch", path))
		} else {
			t.Notes = append(t.Notes, "no epoch is written: ra and dec are taken as the place in 2000.0")
		}
	case t.Object == nil:
		t.Notes = append(t.Notes, "no proper motion is written: the place is taken as the same in every year")
	}
}
