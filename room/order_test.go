package room

import (
	"context"
	"math"
	"testing"

	"legroom/axes"
	"legroom/rig"
)

// What a document's silence about the order of the axes is said to cost is what the limits of the same document with each order
// written have, and no order has less than all of them together.
func TestOrdersAreThoseOfTheDocument(t *testing.T) {
	limits := func(o rig.Order) *Limits {
		r, err := rig.Load("../examples/balcony-strain-wave.yaml")
		if err != nil {
			t.Fatal(err)
		}
		r.Mount.Slew.Order = o
		m, err := axes.NewModel(r, nil)
		if err != nil {
			t.Fatal(err)
		}
		g, err := NewGauge(m, Options{Mode: rig.RSS})
		if err != nil {
			t.Fatal(err)
		}
		at, err := NewMap(context.Background(), g, MapOptions{CellDeg: 1})
		if err != nil {
			t.Fatal(err)
		}
		return limitsOf(t, at)
	}
	silent := limits(rig.UnknownOrder).Orders
	if len(silent) != 4 || silent[0].Order != rig.UnknownOrder {
		t.Fatalf("%+v", silent)
	}
	apart := false
	for _, s := range silent[1:] {
		said := limits(s.Order)
		if said.Orders != nil {
			t.Errorf("%s: the document says which, and yet %+v", s.Order, said.Orders)
		}
		if want := shareOf(s.Order, said.Rows); math.Abs(s.Flip-want.Flip) > 1e-9 || s.NoFlip != want.NoFlip || s.Of != len(said.Rows) {
			t.Errorf("%+v, the document with that order has %+v", s, want)
		}
		if s.Flip < silent[0].Flip-1e-9 || s.NoFlip > silent[0].NoFlip {
			t.Errorf("%+v is less than all orders together, %+v", s, silent[0])
		}
		apart = apart || s.Flip > silent[0].Flip+axes.Rad(1)
	}
	if !apart {
		t.Error("silence costs this rig nothing: the test says nothing")
	}
}
