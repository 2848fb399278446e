package change

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"legroom/rig"
)

// Compare measures a document as it is, first, and then its variants, each of a copy. Progress, when given, is called now and then with
// the share done. A variant that gives no rig ends it, with the variant's name, before anything is measured.
func Compare(ctx context.Context, d *rig.Document, variants []Variant, a Ask, progress func(done float64)) ([]*Result, error) {
	all := append([]Variant{{Name: "present"}}, variants...)
	for i := range all {
		trial, err := copyOf(d)
		if err == nil {
			_, _, err = all[i].Apply(trial)
		}
		if err != nil {
			return nil, all[i].wrong(err)
		}
	}
	var out []*Result
	for i, v := range all {
		r, err := MeasureVariant(ctx, d, v, a, func(done float64) {
			if progress != nil {
				progress((float64(i) + done) / float64(len(all)))
			}
		})
		if err != nil {
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			return nil, v.wrong(err)
		}
		out = append(out, r)
	}
	return out, nil
}

// wrong puts the variant's name before an error, once.
func (v *Variant) wrong(err error) error {
	if strings.HasPrefix(err.Error(), v.Name+": ") { // one edit's own name
		return err
	}
	return fmt.Errorf("%s: %w", v.Name, err)
}

// MaxVariants is how many variants one range, and all together, may make.
const MaxVariants = 200

// Range is a path that takes several values in turn.
type Range struct {
	Path           string
	From, To, Step float64
}

// ParseRange reads path=from..to..step.
func ParseRange(s string) (Range, error) {
	wrong := fmt.Errorf("range %q: give path=from..to..step, such as riser=0..200..50", s)
	path, values, ok := strings.Cut(s, "=")
	parts := strings.Split(values, "..")
	if !ok || path == "" || len(parts) != 3 {
		return Range{}, wrong
	}
	var x [3]float64
	for i := range parts {
		var good bool
		if x[i], good = number(strings.TrimSpace(parts[i])); !good {
			return Range{}, wrong
		}
	}
	r := Range{strings.TrimSpace(path), x[0], x[1], x[2]}
	if !(r.Step > 0) || r.From > r.To || (r.To-r.From)/r.Step > MaxVariants {
		return Range{}, fmt.Errorf("range %q: the step is above 0, the first value no greater than the last, and there are at most %d values", s, MaxVariants)
	}
	return r, nil
}

// Variants gives one variant for each value, with what else is changed in all of them.
func (r Range) Variants(also Variant) []Variant {
	var out []Variant
	for k := range int((r.To-r.From)/r.Step+1e-9) + 1 { // counted: a step may be too small to move a large value
		x := r.From + float64(k)*r.Step
		e := Edit{Path: r.Path, Value: strconv.FormatFloat(x, 'g', 12, 64)}
		v := Variant{Name: e.String(), Edits: append(append([]Edit{}, also.Edits...), e)}
		if also.Name != "" {
			v.Name = also.Name + ", " + v.Name
		}
		out = append(out, v)
	}
	return out
}

// ParseEdit reads path=value.
func ParseEdit(s string) (Edit, error) {
	path, value, ok := strings.Cut(s, "=")
	if path, value = strings.TrimSpace(path), strings.TrimSpace(value); !ok || path == "" || value == "" {
		return Edit{}, fmt.Errorf("change %q: give path=value, such as support.legs.foot_radius_mm=600", s)
	}
	return Edit{Path: path, Value: value}, nil
}

// ParseSwap reads path=FILE.
func ParseSwap(s string) (Edit, error) {
	path, file, ok := strings.Cut(s, "=")
	if path, file = strings.TrimSpace(path), strings.TrimSpace(file); !ok || path == "" || file == "" {
		return Edit{}, fmt.Errorf("swap %q: give path=FILE, such as tube=terrace/other-tube.yaml", s)
	}
	return Edit{Path: path, File: file}, nil
}

// ParseVariable reads path=from..to; behind it may stand @price of a unit's change.
func ParseVariable(s string) (Variable, error) {
	wrong := fmt.Errorf("variable %q: give path=from..to, such as riser=0..300; behind it may stand @ and the price of a unit, such as riser=0..300@1", s)
	path, rest, ok := strings.Cut(s, "=")
	values, price, priced := strings.Cut(rest, "@")
	from, to, both := strings.Cut(values, "..")
	v := Variable{Path: strings.TrimSpace(path), Price: -1}
	var good [3]bool
	v.From, good[0] = number(strings.TrimSpace(from))
	v.To, good[1] = number(strings.TrimSpace(to))
	good[2] = true
	if priced {
		v.Price, good[2] = number(strings.TrimSpace(price))
	}
	if !ok || !both || v.Path == "" || !good[0] || !good[1] || !good[2] || priced && v.Price < 0 || !(v.From < v.To) {
		return Variable{}, wrong
	}
	return v, nil
}
