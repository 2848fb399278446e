package night

import (
	"context"
	"errors"
	"testing"
	"time"

	"legroom/rig"
	"legroom/room"
	"legroom/sky"
)

// What the optimiser is told of a move before it is proven is never later than what is proven, on heads on the pole and off it.
func TestMovesAreBoundedFromBelow(t *testing.T) {
	rnd := optSeeded(t)
	found, exact := 0, 0
	for n := 0; found < 200 && n < 200; n++ {
		r, what := odd(t, rnd)
		g := gaugeOf(t, r, rig.None)
		if g == nil {
			continue
		}
		site, err := sky.NewSite(r.Site)
		if err != nil {
			t.Fatal(err)
		}
		date := time.Date(2020+rnd.IntN(21), 1, 1+rnd.IntN(366), 0, 0, 0, 0, time.UTC)
		night, err := sky.NightOf(site, date.Year(), date.Month(), date.Day())
		if err != nil {
			t.Fatal(err)
		}
		m := mapOf(t, g, 2)
		h, all, err := look(context.Background(), m, site, date, oddTargets(rnd, site, night.Midnight), oddOptions(rnd))
		if errors.Is(err, room.ErrJoint) {
			continue
		}
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		p := newPlanner(m, h)
		var stays []stay
		rows := make([]Target, len(all))
		for i := range all {
			rows[i] = p.look(all[i])
			stays = append(stays, p.stays(i, &rows[i])...)
		}
		if len(stays) == 0 {
			continue
		}
		v := newMover(p, gridOver(stays), stays, rows)
		for range 60 {
			a, b := rnd.IntN(len(stays)), rnd.IntN(len(stays))
			if a == b || stays[a].to <= stays[a].from {
				continue
			}
			at := stays[a].from + rnd.IntN(stays[a].to-stays[a].from+1)
			f := v.find(a, at, b)
			if !f.ok {
				continue
			}
			found++
			least, ok := v.move(a, at, b)
			proven := v.grid.up(f.end)
			if !ok || least > proven {
				t.Fatalf("%s\nfrom stay %d at minute %d to stay %d: bounded by minute %d (%v), proven by %d", what, a, at, b, least, ok, proven)
			}
			if least == proven {
				exact++
			}
		}
	}
	t.Logf("%d moves, %d of them at their bound", found, exact)
	if found < 100 || exact < found/4 {
		t.Errorf("too few moves, or a bound too low to be of use: %d of %d exact", exact, found)
	}
}
