package rig

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// field is what the tags of one struct field say.
type field struct {
	index    int
	key      string
	optional bool
	def      string // "" when there is no default
	tol      string
	oneof    []string
	min, max float64 // ∓Inf when there is none
	above    bool    // min itself is not allowed
	inPrint  bool    // counts in the fingerprint
}

// fieldsOf holds the fields of every struct of the document, by type.
var fieldsOf = func() map[reflect.Type][]field {
	m := map[reflect.Type][]field{}
	readTags(reflect.TypeFor[Rig](), m)
	return m
}()

var (
	lengthType  = reflect.TypeFor[Length]()
	angleType   = reflect.TypeFor[Angle]()
	massType    = reflect.TypeFor[Mass]()
	horizonType = reflect.TypeFor[Horizon]()
)

func readTags(t reflect.Type, m map[reflect.Type][]field) {
	switch t.Kind() {
	case reflect.Pointer, reflect.Slice, reflect.Array:
		readTags(t.Elem(), m)
		return
	case reflect.Struct:
	default:
		return
	}
	if _, done := m[t]; done || t == lengthType || t == angleType || t == massType {
		return
	}
	var fs []field
	m[t] = nil
	for i := range t.NumField() {
		sf := t.Field(i)
		key, rest, _ := strings.Cut(sf.Tag.Get("yaml"), ",")
		if key == "" || key == "-" {
			continue
		}
		f := field{index: i, key: key, optional: rest == "omitempty", def: sf.Tag.Get("default"), tol: sf.Tag.Get("tol"),
			oneof: strings.Fields(sf.Tag.Get("oneof")), min: math.Inf(-1), max: math.Inf(1), inPrint: sf.Tag.Get("fingerprint") != "-"}
		for tag, to := range map[string]*float64{"min": &f.min, "max": &f.max, "above": &f.min} {
			if s := sf.Tag.Get(tag); s != "" {
				x, err := strconv.ParseFloat(s, 64)
				if err != nil {
					panic("rig: the tag " + tag + ":" + s + " is no number")
				}
				*to, f.above = x, f.above || tag == "above"
			}
		}
		fs = append(fs, f)
		readTags(sf.Type, m)
	}
	m[t] = fs
}

// decoder turns nodes into a Rig and gathers every defect on the way.
type decoder struct {
	files    *folder
	errs     Errors
	defaults []DefaultUsed
	parts    int
}

func (d *decoder) fail(at Position, path, problem, remedy string) {
	d.errs = append(d.errs, &Error{Pos: at, Path: path, Problem: problem, Remedy: remedy})
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// structure decodes n into the struct v; n nil stands for an absent section whose defaults are wanted.
func (d *decoder) structure(n *node, v reflect.Value, path string) {
	fs := fieldsOf[v.Type()]
	if n != nil && n.kind != mapping {
		d.fail(n.at, path, "it is "+n.kind.String()+", but a mapping of keys is expected", "write keys below it: "+strings.Join(keysOf(fs), ", "))
		return
	}
	meant := map[string]bool{} // keys that are there, but mistyped
	if n != nil {
		for _, e := range n.entries {
			if slices.ContainsFunc(fs, func(f field) bool { return f.key == e.key }) {
				continue
			}
			key := Nearest(e.key, keysOf(fs))
			remedy := "did you mean " + key + "?"
			if key != "" && n.get(key) != nil {
				remedy = "did you mean " + key + ", which is there already?"
			}
			if key == "" {
				remedy = "its keys are " + strings.Join(keysOf(fs), ", ")
			}
			meant[key] = true
			d.fail(e.at, join(path, e.key), "there is no such key", remedy)
		}
	}
	for i := range fs {
		f := &fs[i]
		child := n.get(f.key)
		p := join(path, f.key)
		switch {
		case child == nil && !f.optional:
			if n != nil && !meant[f.key] {
				d.fail(n.at, path, f.key+" is missing", "add `"+f.key+": "+placeholder(v.Field(f.index).Type(), f)+"`")
			}
		case child == nil:
			d.absent(v.Field(f.index), f, p)
		case child.kind == nothing && f.optional:
			d.fail(n.keyAt(f.key), p, "it has no value", "write one, or remove the key")
		case child.kind == nothing:
			d.fail(n.keyAt(f.key), p, "it has no value", "write `"+f.key+": "+placeholder(v.Field(f.index).Type(), f)+"`")
		default:
			d.value(child, v.Field(f.index), f, p)
		}
	}
}

// absent puts the default in place of what the document leaves out.
func (d *decoder) absent(v reflect.Value, f *field, path string) {
	switch t := v.Type(); {
	case t == lengthType || t == angleType || t == massType:
		q := quantityOf(v)
		q.Path, q.Unit = path, unitOf(t)
		if f.def == "" {
			return
		}
		if problem, _ := parseQuantity(q, f.def, ""); problem != "" {
			panic("rig: default of " + path + ": " + problem)
		}
		if f.tol == "none" {
			q.Tol = 0
		}
		q.Source = Default
		why := "absent: exactly this"
		if q.Tol > 0 {
			why = "absent: this, give or take what is usual"
		}
		d.used(path, q.String(), why)
	case t.Kind() == reflect.Struct:
		d.structure(nil, v, path)
	case f.def == "{}":
		v.Set(reflect.New(t.Elem()))
		d.structure(nil, v.Elem(), path)
	case f.def != "":
		why := "absent: the usual value"
		if f.def == "unknown" {
			why = "absent: the worst counts"
		}
		d.plain(&node{kind: scalar, text: f.def}, v, f, path)
		d.used(path, f.def, why)
	}
}

func (d *decoder) used(path, value, why string) {
	d.defaults = append(d.defaults, DefaultUsed{Path: path, Value: value, Why: why})
}

func (d *decoder) value(n *node, v reflect.Value, f *field, path string) {
	switch t := v.Type(); {
	case t == lengthType || t == angleType || t == massType:
		q := quantityOf(v)
		q.Path, q.Unit, q.Pos = path, unitOf(t), n.start
		d.quantity(n, q, f)
	case t == horizonType:
		v.Set(reflect.ValueOf(d.horizon(n, path)))
	case t.Kind() == reflect.Pointer:
		v.Set(reflect.New(t.Elem()))
		d.value(n, v.Elem(), f, path)
	case t.Kind() == reflect.Struct:
		d.structure(n, v, path)
	case t.Kind() == reflect.Slice || t.Kind() == reflect.Array:
		d.list(n, v, f, path)
	default:
		d.plain(n, v, f, path)
	}
}

func (d *decoder) list(n *node, v reflect.Value, f *field, path string) {
	if n.kind != list {
		d.fail(n.at, path, "it is "+n.kind.String()+", but a list is expected", "write each entry on its own line behind a dash, or [a, b, c]")
		return
	}
	if v.Kind() == reflect.Slice {
		v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
	} else if len(n.items) != v.Len() {
		d.fail(n.at, path, "it has "+count(len(n.items), "entry", "entries"), fmt.Sprintf("write exactly %d", v.Len()))
		return
	}
	if v.Type().Elem().Kind() == reflect.Struct && v.Type().Elem() != lengthType {
		d.parts += len(n.items)
	}
	for i, item := range n.items {
		p := fmt.Sprintf("%s[%d]", path, i)
		if item.kind == nothing {
			d.fail(item.at, p, "it has no value", "write one, or remove its dash")
			continue
		}
		d.value(item, v.Index(i), f, p)
	}
}

func (d *decoder) quantity(n *node, q *Quantity, f *field) {
	if n.kind != scalar {
		d.fail(n.at, q.Path, "it is "+n.kind.String()+", but a number is expected", "write "+example(q.Unit))
		return
	}
	problem, remedy := parseQuantity(q, n.text, f.tol)
	if problem == "" {
		problem, remedy = outOfBounds(q.Value, f, q.Unit)
	}
	written := strings.ContainsAny(n.text, "±/") || strings.Contains(n.text, "+-")
	maxTol := maxLengthTol
	if q.Unit == "deg" {
		maxTol = maxAngleTol
	}
	switch {
	case problem != "":
	case q.Unit == "mm" && math.Abs(q.Value) > maxLength:
		problem, remedy = fmt.Sprintf("%s mm is more than 100 m", format(q.Value)), "lengths are millimetres: check the unit"
	case written && q.Tol > maxTol:
		problem, remedy = fmt.Sprintf("the tolerance %s is larger than the %s %s that is allowed", format(q.Tol), format(maxTol), q.Unit), "measure again, or write `unmeasured` behind the number"
	case written && f.above && q.Tol >= q.Value:
		problem, remedy = fmt.Sprintf("the tolerance %s is as large as the value %s itself", format(q.Tol), format(q.Value)), "write the half-width that you trust, such as "+format(q.Value)+" ± "+format(q.Value/10)
	}
	if problem != "" {
		q.Source = Absent
		d.fail(n.start, q.Path, problem, remedy)
		return
	}
	if !written && q.Tol > 0 {
		why := "no tolerance written: the usual one"
		if q.Source == Unmeasured {
			why = "unmeasured: the tolerance of a template's value"
		}
		d.used(q.Path, "± "+format(q.Tol)+" "+q.Unit, why)
	}
}

// outOfBounds checks a number against the field's tags.
func outOfBounds(x float64, f *field, unit string) (problem, remedy string) {
	var allowed string
	switch {
	case f.above && math.IsInf(f.max, 1):
		allowed = "a number above " + format(f.min)
	case f.above:
		allowed = fmt.Sprintf("a number above %s and up to %s", format(f.min), format(f.max))
	case math.IsInf(f.max, 1):
		allowed = format(f.min) + " or more"
	default:
		allowed = fmt.Sprintf("a number from %s to %s", format(f.min), format(f.max))
	}
	if x < f.min || x > f.max || (f.above && x == f.min) {
		return fmt.Sprintf("%s is not possible here", strings.TrimSpace(format(x)+" "+unit)), "write " + allowed
	}
	return "", ""
}

// plain decodes a number, a truth value or a word.
func (d *decoder) plain(n *node, v reflect.Value, f *field, path string) {
	if n.kind != scalar {
		d.fail(n.at, path, "it is "+n.kind.String()+", but a single value is expected", "write "+placeholder(v.Type(), f))
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		d.plain(n, v.Elem(), f, path)
	case reflect.String:
		if i := strings.IndexFunc(n.text, unicode.IsControl); i >= 0 {
			d.fail(n.start, path, "the text holds a line break or a control character", "write it on one line")
			return
		}
		if len(f.oneof) > 0 && !slices.Contains(f.oneof, n.text) {
			d.fail(n.start, path, fmt.Sprintf("%q is not one of its values", clip(n.text)), "write "+oneOf(f.oneof))
			return
		}
		if strings.TrimSpace(n.text) == "" {
			d.fail(n.start, path, "the text is empty", "write one, or remove the key")
			return
		}
		v.SetString(n.text)
	case reflect.Bool:
		if n.quoted || (n.text != "true" && n.text != "false") {
			d.fail(n.start, path, fmt.Sprintf("%q is neither true nor false", clip(n.text)), "write true or false")
			return
		}
		v.SetBool(n.text == "true")
	case reflect.Int:
		x, err := strconv.Atoi(n.text)
		if err != nil || n.quoted {
			d.fail(n.start, path, fmt.Sprintf("%q is not a whole number", clip(n.text)), "write one such as "+placeholder(v.Type(), f))
			return
		}
		if problem, remedy := outOfBounds(float64(x), f, ""); problem != "" {
			d.fail(n.start, path, problem, remedy)
			return
		}
		v.SetInt(int64(x))
	case reflect.Float64:
		const want = "a plain number such as 12.5"
		if strings.ContainsAny(n.text, "±") || strings.Contains(n.text, "unmeasured") || strings.Contains(n.text, "fitted") {
			d.fail(n.start, path, fmt.Sprintf("%q has a tolerance, but this is not a measured length or angle", clip(n.text)), "write "+want)
			return
		}
		if n.quoted || !numberForm.MatchString(n.text) {
			problem, remedy := notNumber(n.text, "", want)
			if n.quoted {
				problem, remedy = fmt.Sprintf("%q is text in quotes", clip(n.text)), "write "+want
			}
			d.fail(n.start, path, problem, remedy)
			return
		}
		x, err := strconv.ParseFloat(n.text, 64)
		if err != nil {
			d.fail(n.start, path, clip(n.text)+" is too large to be read", "write "+want)
			return
		}
		if problem, remedy := outOfBounds(x, f, ""); problem != "" {
			d.fail(n.start, path, problem, remedy)
			return
		}
		v.SetFloat(x)
	default:
		panic("rig: cannot decode " + v.Type().String())
	}
}

func quantityOf(v reflect.Value) *Quantity { return v.Field(0).Addr().Interface().(*Quantity) }

func unitOf(t reflect.Type) string {
	switch t {
	case angleType:
		return "deg"
	case massType:
		return "kg"
	}
	return "mm"
}

func keysOf(fs []field) []string {
	out := make([]string, len(fs))
	for i := range fs {
		out[i] = fs[i].key
	}
	return out
}

// placeholder is what could stand behind a key.
func placeholder(t reflect.Type, f *field) string {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case t == lengthType:
		return "460 ± 5"
	case t == angleType:
		return "45 ± 1"
	case t == massType:
		return "7.5"
	case f.key == "legroom":
		return "1"
	case f.key == "time_zone":
		return "Europe/Madrid"
	case len(f.oneof) > 0:
		return oneOf(f.oneof)
	}
	switch t.Kind() {
	case reflect.Struct:
		return "` with keys below it: `" + strings.Join(keysOf(fieldsOf[t]), ", ")
	case reflect.Slice:
		return "[…]"
	case reflect.Int:
		return "3"
	case reflect.Float64:
		return "12.5"
	case reflect.Bool:
		return "true"
	}
	return "a text"
}

// oneOf reads "a, b or c".
func oneOf(words []string) string {
	if len(words) == 1 {
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// Nearest gives the key that a mistyped one stands for, "" when none is near.
func Nearest(key string, keys []string) string {
	best, least := "", 1+max(2, len(key)/3)
	stem, _ := cutUnit(key)
	for _, k := range keys {
		dist := editDistance(key, k)
		if s, ok := cutUnit(k); ok && s == stem {
			dist = 0
		}
		if dist < least {
			best, least = k, dist
		}
	}
	return best
}

// cutUnit cuts the unit off a key: height_mm → height.
func cutUnit(key string) (stem string, ok bool) {
	for _, u := range []string{"_mm", "_cm", "_m", "_in", "_deg", "_kg", "_g"} {
		if s, found := strings.CutSuffix(key, u); found {
			return s, true
		}
	}
	return key, false
}

// editDistance is the number of letters to put in, take out or change to make a into b.
func editDistance(a, b string) int {
	if len(a) > 64 {
		return len(a)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diag := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diag
			if a[i] != b[j] {
				cost++
			}
			diag = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
