package rig

import (
	"errors"
	"math"
	"os"
	"testing"
)

// FuzzHorizon: horizon text gives a bounded list of errors, or points on the sky.
func FuzzHorizon(f *testing.F) {
	for _, s := range []string{"0 5\n90 12.5 # wall\n", "\ufeff360 1\r\n", "nan inf", "1e999 1", "0 1\n360 2\n", "1,5 2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		h, errs := parseHorizon(text, "horizon.txt")
		if len(errs) > maxErrors {
			t.Fatalf("%d errors", len(errs))
		}
		for _, p := range h {
			if !(p[0] >= 0 && p[0] <= 360 && math.Abs(p[1]) <= 90) {
				t.Fatal(p)
			}
		}
	})
}

// FuzzSet: a value set at a path is refused and leaves the text as it was, or gives a document that can be read again; and a rig
// with the value is refused or whole.
func FuzzSet(f *testing.F) {
	good, err := os.ReadFile("testdata/good.yaml")
	if err != nil {
		f.Fatal(err)
	}
	r, err := Parse(good, "testdata/good.yaml")
	if err != nil {
		f.Fatal(err)
	}
	for _, s := range [][2]string{{"tube.train.items[camera].length_mm", "120 ± 3"}, {"parts[0]", "{name: a, frame: tube}"}, {"support", "null"}, {"name", "'a: b'"},
		{"tube.train.items[99999999999999999999]", "1"}, {"site.horizon[0][1]", ".nan"}, {"a.b[", "&a *a"}, {"support.legs", "[[[["}} {
		f.Add(s[0], s[1])
	}
	f.Fuzz(func(t *testing.T, path, value string) {
		d, err := EditDocument(good)
		if err != nil {
			t.Fatal(err)
		}
		if err := d.Set(path, value); err != nil && string(d.Bytes()) != string(good) {
			t.Fatalf("refused, and changed: %v", err)
		}
		if _, err := EditDocument(d.Bytes()); err != nil {
			t.Fatalf("no document any more: %v\n%s", err, d.Bytes())
		}
		changed, err := r.With(path, value)
		var all Errors
		if err != nil && !errors.As(err, &all) {
			t.Fatalf("%T %v", err, err)
		}
		if err == nil && changed.Clone().Fingerprint() != changed.Fingerprint() {
			t.Fatal("the copy has another fingerprint")
		}
	})
}

// FuzzConfirmation: a confirmation is refused, or it is to the byte what this program writes.
func FuzzConfirmation(f *testing.F) {
	c := Confirmation{Version: ConfirmationVersion, Fingerprint: "abc", Night: "2026-11-25", Without: []string{}, Lines: []SetupLine{{"riser", "Riser", "none"}}}
	text, err := c.encode()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte(`{"version": 1, "Version": 1}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		c, err := parseConfirmation(text)
		if err != nil {
			return
		}
		if again, err := c.encode(); err != nil || string(again) != string(text) || !isDate(c.Night) {
			t.Fatalf("%v %+v", err, c)
		}
	})
}
