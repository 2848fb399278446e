package rig

import "reflect"

// Clone gives a copy that shares nothing that may be changed: its Quantities point into the copy, with the same
// indices. It is cheap enough for many thousands of random draws.
func (r *Rig) Clone() *Rig {
	out := *r
	out.Quantities = make([]*Quantity, 0, len(r.Quantities))
	deepen(reflect.ValueOf(&out).Elem(), &out)
	return &out
}

// holdsMore lists, by type, the fields that lead to memory of their own or to quantities; the others are plain values.
var holdsMore = func() map[reflect.Type][]int {
	m := map[reflect.Type][]int{}
	for t, fs := range fieldsOf {
		m[t] = nil
		for _, f := range fs {
			switch t.Field(f.index).Type.Kind() {
			case reflect.Pointer, reflect.Slice, reflect.Struct:
				m[t] = append(m[t], f.index)
			}
		}
	}
	return m
}()

// deepen gives the value v, a shallow copy, memory of its own and appends its quantities to the rig's in the order of
// the fields.
func deepen(v reflect.Value, r *Rig) {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return
		}
		own := reflect.New(v.Type().Elem())
		own.Elem().Set(v.Elem())
		v.Set(own)
		deepen(own.Elem(), r)
	case reflect.Slice:
		if v.IsNil() {
			return
		}
		own := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		reflect.Copy(own, v)
		v.Set(own)
		if v.Type().Elem().Kind() == reflect.Struct {
			for i := range own.Len() {
				deepen(own.Index(i), r)
			}
		}
	case reflect.Struct:
		t := v.Type()
		if t == lengthType || t == angleType || t == massType {
			if q := quantityOf(v); q.Set() {
				r.Quantities = append(r.Quantities, q)
			}
			return
		}
		for _, i := range holdsMore[t] {
			deepen(v.Field(i), r)
		}
	}
}
