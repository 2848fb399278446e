package rig

import "testing"

func TestHorizonAltitude(t *testing.T) {
	h := Horizon{{10, 5}, {90, 25}, {350, 15}}
	for _, c := range []struct{ az, want float64 }{
		{10, 5}, {50, 15}, {90, 25}, {350, 15}, {0, 10}, {360, 10}, {5, 7.5}, {-10, 15}, {220, 20},
	} {
		if got := h.Altitude(c.az); got != c.want {
			t.Errorf("at %v°: %v, want %v", c.az, got, c.want)
		}
	}
	if (Horizon{}).Altitude(123) != 0 || (Horizon{{200, 7}}).Altitude(3) != 7 {
		t.Error("no points, or one")
	}
	if got := h.Least(340, 380); got != 5 {
		t.Errorf("least from 340° to 20° is %v, want 5", got)
	}
	if got := h.Least(50, 60); got != 15 {
		t.Errorf("least from 50° to 60° is %v, want 15", got)
	}
}
