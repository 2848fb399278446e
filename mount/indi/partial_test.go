package indi

import (
	"errors"
	"testing"
)

// A value that cannot be read stays so until it has been told anew: a change of another member does not make 0 of it, nor what it was.
func TestBadMemberStaysBad(t *testing.T) {
	vector := func(members ...Member) Vector {
		return Vector{Device: "M", Name: geographic, Kind: Number, State: Ok, Members: members}
	}
	lat, long := Member{Name: "LAT", Number: 40}, Member{Name: "LONG", Number: 20}
	bad := errors.New("no number")
	for _, c := range []struct {
		then Element
		ok   bool
	}{
		{Element{Op: Set, Vector: vector(long)}, false},
		{Element{Op: Set, Vector: vector()}, false},
		{Element{Op: Set, Vector: vector(long, lat)}, true},
		{Element{Op: Def, Vector: vector(lat, long)}, true},
	} {
		s := &session{device: "M", known: map[string]told{}, heard: map[*answers]bool{}, changed: make(chan struct{})}
		s.take(Element{Op: Def, Vector: vector(lat, long)})
		s.take(Element{Op: Set, Vector: vector(Member{Name: "LAT"}), Bad: bad})
		if s.known[geographic].usable() == nil {
			t.Fatal("usable though bad")
		}
		s.take(c.then)
		if err := s.known[geographic].usable(); (err == nil) != c.ok {
			t.Errorf("%+v: %v", c.then, err)
		}
	}
}
