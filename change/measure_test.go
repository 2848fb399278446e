package change

import (
	"context"
	"testing"

	"legroom/room"
)

// A target that one side holds alone is above the horizon in one free run of that side; the examples have some, and some that neither does.
func TestHeldByOneSide(t *testing.T) {
	alone, not := 0, 0
	for _, file := range examples(t) {
		r, err := document(t, file).Rig()
		if err != nil {
			t.Fatal(err)
		}
		out, err := Measure(context.Background(), r, Ask{CellDeg: 1}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range out.Targets {
			if !x.Rises {
				continue
			}
			up := out.Map.Up(x.Dec-x.Half, x.Dec+x.Half, 0)
			want := false
			for _, run := range append(append([]room.Interval{}, x.Row.West...), x.Row.East...) {
				all := true
				for _, u := range up {
					all = all && run.From <= u.From+1e-9 && u.To <= run.To+1e-9
				}
				want = want || all
			}
			if x.Alone != want {
				t.Errorf("%s, %s: held by one side %v, its runs say %v: up %v, west %v, east %v", file, x.Name, x.Alone, want, up, x.Row.West, x.Row.East)
			}
			if x.Alone {
				alone++
			} else {
				not++
			}
		}
	}
	if alone == 0 || not == 0 {
		t.Errorf("%d held by one side, %d not: this shows nothing", alone, not)
	}
}
