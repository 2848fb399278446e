package rig

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"reflect"
	"strings"
)

// engine counts the versions of the computation: a result of another version is not this one's.
const engine = "legroom engine 1"

// Fingerprint names everything of the rig that affects a gap or a limit, as twelve hex digits xxxx-xxxx-xxxx: the first 48
// bits of a SHA-256. Values, tolerances, part names, conditions, horizon and margin count; free words, masses,
// longitude, elevation and time zone don't, nor do comments, the order of keys or the files that the document lies in.
func (r *Rig) Fingerprint() string {
	h := sha256.New()
	io.WriteString(h, engine+"\n")
	canonical(h, reflect.ValueOf(r).Elem(), "")
	s := hex.EncodeToString(h.Sum(nil))
	return strings.Join([]string{s[:4], s[4:8], s[8:12]}, "-")
}

// canonical writes one line a value, with its path, in the order of the fields; what is not there writes nothing.
func canonical(w io.Writer, v reflect.Value, path string) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			canonical(w, v.Elem(), path)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			fmt.Fprintf(w, "%s[%d]\n", path, i) // an entry counts even when it says nothing
			canonical(w, v.Index(i), fmt.Sprintf("%s[%d]", path, i))
		}
	case reflect.Struct:
		switch v.Type() {
		case massType:
		case lengthType, angleType:
			if q := quantityOf(v); q.Set() {
				fmt.Fprintf(w, "%s = %s ± %s\n", path, format(q.Value+0), format(q.Tol))
			}
		default:
			for _, f := range fieldsOf[v.Type()] {
				if f.inPrint {
					canonical(w, v.Field(f.index), join(path, f.key))
				}
			}
		}
	case reflect.Float64:
		fmt.Fprintf(w, "%s = %s\n", path, format(v.Float()+0))
	case reflect.String:
		fmt.Fprintf(w, "%s = %q\n", path, v.String())
	default:
		fmt.Fprintf(w, "%s = %v\n", path, v.Interface())
	}
}
