package rig

import (
	"strings"
	"testing"
)

// A sum of masses names what it leaves out, and is silent where it leaves nothing out.
func TestSumOfMassesNamesWhatIsMissing(t *testing.T) {
	said := func(r *Rig) string {
		for _, f := range r.Findings() {
			if strings.HasPrefix(f.Text, "masses: ") {
				return f.Text
			}
		}
		t.Fatal("no word of the masses")
		return ""
	}
	r, err := Load("../examples/terrace-long-refractor.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if s := said(r); strings.Contains(s, "without") {
		t.Error(s)
	}
	r.Support.MassKg, r.Mount.PolarHousing.MassKg = Mass{}, Mass{}
	if s := said(r); !strings.HasSuffix(s, " without tripod and polar housing, which have no mass in the document") {
		t.Error(s)
	}
	r.Support.MassKg.Source, r.Support.MassKg.Value = Measured, 9
	if s := said(r); !strings.HasSuffix(s, " kg without polar housing, which has no mass in the document") {
		t.Error(s)
	}
}
