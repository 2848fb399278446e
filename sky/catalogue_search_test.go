package sky

import (
	"slices"
	"strings"
	"testing"
)

func TestSearch(t *testing.T) {
	for _, c := range []struct {
		text  string
		first string // of what is found
		holds []string
		not   string
	}{
		{"m31", "M 31", nil, "M 32"},
		{"M 3", "M 3", []string{"M 31", "M 39"}, "M 13"},
		{"orion", "M 42", nil, "M 31"},
		{"NGC 700", "NGC 7000", nil, "M 31"},
		{"open cluster", "", []string{"M 45", "M 11"}, "M 13"},
		{"and", "", []string{"M 31", "M 32", "M 110"}, "M 33"},
		{"ANDROMEDA galaxy", "M 31", nil, "M 42"},
	} {
		var got []string
		for _, o := range Search(c.text) {
			got = append(got, o.Designation)
		}
		if len(got) == 0 || c.first != "" && got[0] != c.first {
			t.Errorf("%q: %s, want %s first", c.text, strings.Join(got, ", "), c.first)
		}
		for _, want := range c.holds {
			if !slices.Contains(got, want) {
				t.Errorf("%q: %s is not in %s", c.text, want, strings.Join(got, ", "))
			}
		}
		if slices.Contains(got, c.not) {
			t.Errorf("%q: %s is in %s", c.text, c.not, strings.Join(got, ", "))
		}
	}
	for _, none := range []string{"", " -- ", "no such thing"} {
		if got := Search(none); len(got) > 0 {
			t.Errorf("%q: %v", none, got)
		}
	}
	// Every object is found by its own designation, first.
	for _, o := range Catalogue() {
		if got := Search(o.Designation); len(got) == 0 || got[0].Designation != o.Designation {
			t.Errorf("%s is not the first of %v", o.Designation, got)
		}
	}
}
